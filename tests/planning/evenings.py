"""A history for the small house of the cast, written down as files would tell it, and what is foretold from it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from itertools import count
from typing import Any
from zoneinfo import ZoneInfo

from studiodesk.bookings.actions import record_past_bookings
from studiodesk.bookings.models import Booking
from studiodesk.bookings.rules.past import PastBooking
from studiodesk.chemistry.actions import record_bath_entry, record_past_feeds
from studiodesk.chemistry.rules.past import PastFeed
from studiodesk.planning.queries import Foretold, foretell
from studiodesk.planning.queries.known import known
from studiodesk.planning.rules.values import Known
from studiodesk.timekeeping import localise

AMSTERDAM = ZoneInfo("Europe/Amsterdam")
SHEET = "203x254"
SHEET_MM2 = 203 * 254
_numbers = count(1)


def local(day: date, hour: float, zone: ZoneInfo = AMSTERDAM) -> datetime:
    """The UTC moment at which the clocks of the house show so many hours."""
    return localise(datetime.combine(day, time()) + timedelta(hours=hour), zone)


@dataclass
class Past:
    """``stay`` and ``loose`` gather, ``record`` writes: all stays, then all sheets."""

    house: Any
    bookings: list[PastBooking] = field(default_factory=list)
    feeds: list[tuple[datetime, str, int, str, str, str, Any]] = field(default_factory=list)

    def stay(
        self,
        who: Any,
        starts: datetime,
        *,
        hours: float = 2,
        sheets: int = 0,
        process: str = "rc",
        station: str = "E1",
        machine: str = "P-RC",
        made_days: float = 5,
        cancelled_at: datetime | None = None,
    ) -> None:
        """A booking, to which ``sheets`` went through ``machine`` halfway."""
        reference = f"S{next(_numbers)}"
        ends = starts + timedelta(hours=hours)
        self.bookings.append(
            PastBooking(
                reference, who.pk, self.house.stations[station].pk, self.house.processes[process].pk, starts, ends,
                starts - timedelta(days=made_days), cancelled_at, row_number=len(self.bookings),
            )
        )  # fmt: skip
        if sheets:
            self.feeds.append((starts + (ends - starts) / 2, machine, sheets, "print", "booking", reference, who))

    def loose(
        self, at: datetime, sheets: int, machine: str = "P-RC", kind: str = "print", who: str = "walk-in"
    ) -> None:
        self.feeds.append((at, machine, sheets, kind, who, "", None))

    def weekly(self, who: Any, first: date, weeks: int, sheets: int, hour: float = 18, **more: Any) -> None:
        """The same evening for so many weeks."""
        for week in range(weeks):
            self.stay(who, local(first + timedelta(weeks=week), hour), sheets=sheets, **more)

    def record(self, now: datetime) -> None:
        if self.bookings:
            record_past_bookings(self.bookings, now)
        stays = dict(Booking.objects.values_list("reference", "pk"))
        record_past_feeds(
            [
                PastFeed(
                    at, self.house.processors[machine].pk, self.house.sizes[SHEET].pk, sheets,
                    0 if kind == "cleaning" else SHEET_MM2, kind, who, person.pk if person else None,
                    stays.get(reference), f"f{next(_numbers)}",
                )
                for at, machine, sheets, kind, who, reference, person in self.feeds
            ],
            now,
        )  # fmt: skip
        self.bookings, self.feeds = [], []


def refill(house: Any, at: datetime, now: datetime, bath: tuple[str, str] = ("P-CO", "dev")) -> None:
    record_bath_entry(bath=house.baths[bath], event="refill", at=at, now=now)


def told(at: datetime, bath: tuple[str, str] = ("P-RC", "dev"), *, live: bool = True) -> Foretold:
    return next(one for one in foretell(at, live=live) if (one.of.processor, one.of.bath) == bath)


def facts(at: datetime, *, live: bool = True) -> Known:
    return known(at, live=live)


def expected(one: Foretold, first: date, last: date) -> float:
    """What is expected to go through on the days from ``first`` to ``last``, mm²."""
    by_day = one.course.by_day
    days = (one.course.day(n) for n in range(len(by_day)))
    return sum(area for day, area in zip(days, by_day, strict=True) if first <= day <= last)
