"""Builds the whole demo in an empty, migrated database."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from random import Random
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from studiodesk.people import actions as people
from studiodesk.planning import actions as planning
from studiodesk.stations import actions as stations
from studiodesk.stations import queries as house
from studiodesk.timekeeping import week_shifted
from studiodesk.upkeep import actions as upkeep

from . import belonging, chores, duty, hours, letters, mixing, own, shifting, teaching, trouble, upkept, waiting
from .evenings import Evenings
from .people import PASSWORD, Cast, move_in
from .sheets import Sheets

#: So long before the demo's own days its people moved in, read their notes and were signed off.
LONG_BEFORE = timedelta(days=30)


@dataclass(frozen=True)
class Demo:
    """What somebody needs to walk in: addresses, the password, the tablet's code."""

    cast: Cast
    password: str
    tablet_code: str
    bookings_made: int


def build(*, now: datetime, example: Path, seed: int, say: Callable[[str], None] = lambda _: None) -> Demo:
    """Load the example with its history moved up to ``now`` and tell the days around it.

    At any minute of any day three people are in and one is late, a bath is tired, one wants replenishment, the next
    evening is full and two wait for it, a booth is out of service over two bookings, and the member who logs in has an
    offer to answer.  One class is over, one is nearly full on Saturday and others are ahead, as far as there is room.
    The same ``now`` and ``seed`` give the same studio.
    """
    random = Random(seed)  # noqa: S311 - invented evenings, not secrets
    say(_("Loading the studio."))
    first = datetime.fromisoformat("2026-01-01T00:00:00Z")
    described = b"\n".join((example / f"{name}.toml").read_bytes() for name in ("studio", "demo", "house"))
    upkeep.load_studio(data=described, now=min(now, first))
    zone = house.zone()
    upkept.call_sizes_by_both_names(min(now, first))
    since = _bring_history(now, example, zone, say)
    stations.set_opening(week=hours.lengthened(house.hours().week, now, zone))
    trouble.know_what_is_needed(now)
    moved_in = min(since, now) - LONG_BEFORE
    cast = move_in(now=moved_in)
    belonging.settle_in(cast, now=moved_in, today=now, zone=zone)
    say(_("Telling the days around today."))
    evenings = Evenings(now=now, zone=zone, people=cast.others, random=random)
    evenings.in_the_house_now()
    here = list(evenings.made)
    belonging.say_whom_to_call(cast, [booking.member for booking in here], now=moved_in)
    teaching.Teaching(evenings, cast, announced=moved_in + timedelta(days=1), say=say).everything()
    evening = evenings.evening_ahead()
    evenings.fill(evening)
    own.give_them_something(evenings, cast)
    evenings.ordinary_days(since)
    waiting.two_wait(evenings, evening, evenings.with_time_soon()[:2])
    trouble.lamp_repair(evenings, cast)
    planned_at = min(since, now) - timedelta(days=9)
    duty.plan_and_cover(cast, now=now, since=min(since, now), planned_at=planned_at, zone=zone)
    chores.keep_the_list(cast, evenings.openings_on(0), now=now, since=moved_in)
    mixing.stock_the_shelves(cast, now=now, zone=zone, since=moved_in)
    sheets = Sheets(now=now, zone=zone, keyholder=cast.keyholder, random=random)
    sheets.look_after_baths(since)
    for booking in evenings.made:
        if booking in here:
            sheets.at_work(booking)
        else:
            sheets.evening_of(booking)
    sheets.happen()
    sheets.something_for_the_desk(here)
    duty.somebody_without_a_booking(cast, now=now)
    trouble.report_a_fault(here, evenings)
    trouble.a_booth_fails(here, evenings, cast)
    upkept.look_after_chemistry(cast, now=now, zone=zone)
    say(_("Foretelling the baths."))
    planning.forecast_tonight(now=now)
    _tablet, code = people.invite_tablet(name="Dry end", now=now, by=cast.staff)
    letters.forget_old_ones(now)
    return Demo(cast, PASSWORD, code, len(evenings.made))


def _bring_history(now: datetime, example: Path, zone: ZoneInfo, say: Callable[[str], None]) -> datetime:
    """Import the quarter, moved by whole local weeks; the moment of its last row."""
    last = shifting.latest_moment(example)
    weeks = shifting.weeks_to(now, last, zone)
    with tempfile.TemporaryDirectory() as folder:
        shifting.shift(example, Path(folder), weeks, zone)
        say(_("Importing a quarter of history."))
        files = {path.name: path.read_bytes() for path in Path(folder).glob("*.csv")}
        outcome = upkeep.import_history(files=files, now=now)
    for file in outcome.files:
        if file.refused:
            raise file.refused
    return week_shifted(last, weeks, zone)
