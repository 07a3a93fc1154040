"""What the house sees to by itself once a minute: time that nobody came for, and who sits where the next begins."""

from __future__ import annotations

from datetime import datetime

from studiodesk.acts import act
from studiodesk.journal.actions import record, tell
from studiodesk.journal.models import Notice
from studiodesk.stations import queries as stations

from ..models import Booking
from ..queries import door
from .cancelling import release


def release_no_shows(*, now: datetime) -> int:
    """Give back the rest of every booking that nobody signed in to in time; how many that were.

    Each by itself: whoever signs in at this very moment keeps theirs, and none waits for all.
    """
    studio = stations.studio_or_none()
    minutes = door.house_rules_at(now, stations.zone(studio)).limit("no_show_minutes") if studio else None
    if minutes is None:
        return 0
    released = [release(booking=one, now=now) for one in door.nobody_came_to(now, minutes)]
    return sum(one.released_at == now for one in released)


@act
def warn_of_overruns(*, now: datetime) -> int:
    """Tell whoever begins soon where somebody still sits, once; how many were told."""
    studio = stations.studio_or_none()
    if studio is None:
        return 0
    found = door.overruns(now, door.house_rules_at(now, stations.zone(studio)))
    keys = {_key(one.next): one for one in found if one.is_over}
    told = set(Notice.objects.filter(unique_key__in=list(keys)).values_list("unique_key", flat=True))
    for key, one in keys.items():
        if key in told:
            continue
        facts = {"sits": one.sits.pk, "station": one.sits.station_id}
        entry = record(code="bookings.overrun", happened_at=now, now=now, about=one.next, facts=facts)
        tell(entry=entry, person=one.next.member, code="bookings.overrun", unique_key=key, due_at=now)
    return len(keys.keys() - told)


def _key(booking: Booking) -> str:
    return f"bookings.overrun:{booking.pk}:{booking.sequence}"
