"""What somebody mostly comes for, as one link; kept and forgotten on the page that finds times."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Studio
from studiodesk.timekeeping import studio_day
from studiodesk.words import length_words

from .. import queries
from ..forms import need_query
from ..rules.needs import Need
from ..words.needs import need_words

#: So many days ahead the first page looks for the next time.
SOON = timedelta(days=7)


def words_of(need: Need, house: queries.HouseMap) -> str:
    process = house.process(need.process)
    what = process.name if process else need.kind[:1].upper() + need.kind[1:]
    negative = need.negative or (_("large format") if need.large_format else "")
    return need_words(what, negative, need.print_mm, need.light_source, length_words(need.stay), need.weekdays)


def usual_link(need: Need, house: queries.HouseMap, today: date) -> dict[str, str]:
    """What is usual in words, and where its times are."""
    return {"words": words_of(need, house), "url": f"{reverse('find')}?{need_query(need, house.kit, today)}#found"}


def usual_button(member: Member, studio: Studio, now: datetime) -> dict[str, Any] | None:
    """The same for the first page, with when it can next be had; one query for whoever kept nothing."""
    need = queries.usual_need(member)
    if need is None:
        return None
    house = queries.house_map(member)
    found = queries.search(need, studio=studio, house=house, member=member, now=now, by=member, days=SOON.days)
    free = [one.starts for one in found if one.refusal is None]
    today = studio_day(now, stations.zone(studio))
    return {**usual_link(need, house, today), "next": min(free, default=None)}
