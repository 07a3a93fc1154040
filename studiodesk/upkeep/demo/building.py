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

from studiodesk.answers import Refused
from studiodesk.bookings import actions as bookings
from studiodesk.people import actions as people
from studiodesk.planning import actions as planning
from studiodesk.stations import actions as stations
from studiodesk.stations import queries as house
from studiodesk.timekeeping import Span, week_shifted
from studiodesk.upkeep import actions as upkeep

from . import hours, shifting
from .evenings import Evenings
from .people import PASSWORD, Cast, move_in
from .sheets import Sheets


@dataclass(frozen=True)
class Demo:
    """What somebody needs to walk in: addresses, the password, the tablet's code."""

    cast: Cast
    password: str
    tablet_code: str
    bookings_made: int


def build(*, now: datetime, example: Path, seed: int, say: Callable[[str], None] = lambda _: None) -> Demo:
    """Load the example with its history moved up to ``now`` and tell the days around it.

    At any minute of any day three people are in and one is late, a bath is tired, one wants replenishment, and the
    next evening is full.  The same ``now`` and ``seed`` give the same studio.
    """
    random = Random(seed)  # noqa: S311 - invented evenings, not secrets
    say(_("Loading the studio."))
    first = datetime.fromisoformat("2026-01-01T00:00:00Z")
    described = (example / "studio.toml").read_bytes() + (example / "demo.toml").read_bytes()
    upkeep.load_studio(data=described, now=min(now, first))
    zone = house.zone()
    since = _bring_history(now, example, zone, say)
    stations.set_opening(week=hours.lengthened(house.hours().week, now, zone))
    cast = move_in(now=min(since, now))
    say(_("Telling the days around today."))
    evenings = Evenings(now=now, zone=zone, people=cast.others, random=random)
    evenings.in_the_house_now()
    here = list(evenings.made)
    evenings.fill(evenings.evening_ahead())
    evenings.ordinary_days(since)
    _own_bookings(evenings, cast)
    _lamp_repair(evenings, cast)
    sheets = Sheets(now=now, zone=zone, keyholder=cast.keyholder, random=random)
    sheets.look_after_baths(since)
    for booking in evenings.made:
        if booking in here:
            sheets.at_work(booking)
        else:
            sheets.evening_of(booking)
    sheets.happen()
    sheets.something_for_the_desk(here)
    say(_("Foretelling the baths."))
    planning.forecast_tonight(now=now)
    _tablet, code = people.invite_tablet(name="Dry end", now=now, by=cast.staff)
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


def _own_bookings(evenings: Evenings, cast: Cast) -> None:
    """The member who logs in has something to see: three stays on evenings to come."""
    booked = 0
    for days in range(1, 15):
        for opening in evenings.openings_on(days):
            starts = opening.ends - timedelta(hours=4)
            for station in evenings.booths:
                process = next((p for p in station.processes.all() if p.code != "ra4"), None)
                span = Span(starts, starts + timedelta(hours=3))
                if booked < 3 and process and evenings.ask(station, process, span, who=cast.member):
                    booked += 1
                    break


def _lamp_repair(evenings: Evenings, cast: Cast) -> None:
    """A station that is shut for a morning, where nobody has booked it."""
    bay = evenings.station("D1")
    for days in range(1, 8):
        for opening in evenings.openings_on(days):
            span = Span(opening.starts, opening.starts + timedelta(hours=3))
            try:
                bookings.close_station(station=bay, span=span, reason=_("lamp repair"), now=evenings.now, by=cast.staff)
            except Refused:
                continue
            return
