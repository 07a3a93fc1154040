"""What the people of the demo feed into the processors, and how its baths are looked after."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Booking
from studiodesk.chemistry import actions as chemistry
from studiodesk.chemistry import queries as baths
from studiodesk.chemistry.models import Bath, Feed, SheetSize
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations import rules as hours
from studiodesk.stations.models import Processor
from studiodesk.timekeeping import studio_day

MIX_BEFORE_OPENING = timedelta(hours=1)
#: The bath that is shown tired, and how far it is used then at the least.
TIRED = ("P-CO", "dev")
TIRED_AT = 0.82
BY_HAND = ("T-FB", "stop")


class Sheets:
    """Collects what happens, then lets it happen in the order of time."""

    def __init__(self, *, now: datetime, zone: ZoneInfo, keyholder: Member, random: Random) -> None:
        self.now, self.zone, self.keyholder, self.random = now, zone, keyholder, random
        self.sizes = list(SheetSize.objects.order_by("pk"))
        self.coming: list[tuple[datetime, int, Callable[[], Any]]] = []

    def at(self, moment: datetime, what: Callable[[], Any]) -> None:
        if moment <= self.now:
            self.coming.append((moment, len(self.coming), what))

    def happen(self) -> None:
        for _, _, what in sorted(self.coming, key=lambda one: one[:2]):
            what()
        self.coming.clear()

    def at_work(self, booking: Booking) -> None:
        """They came and are still here."""
        self._come_and_print(booking)

    def evening_of(self, booking: Booking) -> None:
        """They come, print something every quarter of an hour or so, and leave about the end."""
        self._come_and_print(booking)
        leaves = booking.ends - timedelta(minutes=self.random.randrange(8))
        self.at(leaves, lambda: bookings.leave(booking=booking, now=leaves, by=self.keyholder))

    def _come_and_print(self, booking: Booking) -> None:
        comes = min(booking.starts + timedelta(minutes=self.random.randrange(12)), self.now)
        self.at(comes, lambda: bookings.arrive(booking=booking, now=comes, by=self.keyholder))
        if booking.processor_id is not None:
            moment = comes + timedelta(minutes=self.random.randrange(12, 25))
            while moment < min(booking.ends, self.now):
                self.at(moment, self._feed(booking, moment))
                moment += timedelta(minutes=self.random.randrange(9, 26))

    def _feed(self, booking: Booking, moment: datetime) -> Callable[[], Any]:
        kind = self.random.choices([Feed.Kind.PRINT, Feed.Kind.TEST_STRIP, Feed.Kind.REJECT], [70, 20, 10])[0]
        sheet = self._size(booking.processor, strip=kind == Feed.Kind.TEST_STRIP)
        count = self.random.choice((1, 1, 2, 3, 4))
        return lambda: self._log(booking, sheet, count, moment, kind)

    def _log(self, booking: Booking, sheet: SheetSize, sheets: int, moment: datetime, kind: str = "print") -> None:
        chemistry.log_sheets(
            processor=booking.processor,
            sheet=sheet,
            sheets=sheets,
            kind=kind,
            who=Feed.Who.BOOKING,
            booking=booking,
            fed_at=moment,
            now=moment,
            by=booking.member,
        )

    def _size(self, processor: Processor, *, strip: bool) -> SheetSize:
        fitting = [size for size in self.sizes if min(size.width_mm, size.length_mm) <= processor.feed_width_mm]
        small = min(fitting, key=lambda size: size.width_mm * size.length_mm)
        return small if strip else self.random.choice([size for size in fitting if size != small])

    def look_after_baths(self, since: datetime) -> None:
        """An hour before every opening the keyholder changes what is spent; the fibre trays are mixed new each day."""
        week = stations.hours()
        day = studio_day(since, self.zone) - timedelta(days=1)
        while day <= studio_day(self.now, self.zone):
            for opening in hours.open_spans(day, week, self.zone)[:1]:
                moment = opening.starts - MIX_BEFORE_OPENING
                self.at(moment, lambda moment=moment: self._change_what_is_spent(moment))
            day += timedelta(days=1)

    def _change_what_is_spent(self, moment: datetime) -> None:
        for stands in baths.standings(moment):
            unmixed = stands.processor == "T-FB" and stands.since is None
            if stands.word == "spent" or unmixed:
                self._refill(stands.processor, stands.bath, moment)

    def _refill(self, processor: str, bath: str, moment: datetime) -> None:
        chemistry.record_bath_entry(
            bath=baths.access_bath(processor, bath), event="refill", at=moment, now=moment, by=self.keyholder
        )

    def something_for_the_desk(self, here: Sequence[Booking]) -> None:
        """One bath tired and one that wants replenishment, whatever the days before brought."""
        for processor, bath, wanted in (
            (*TIRED, self._until_tired),
            (*BY_HAND, self._until_due),
        ):
            booking = next(booking for booking in here if booking.processor and booking.processor.code == processor)
            wanted(baths.access_bath(processor, bath), booking)

    def _until_tired(self, bath: Bath, booking: Booking) -> None:
        (stands,) = baths.standings(self.now, of=[bath])
        if stands.word == "spent":
            self._refill(bath.processor.code, bath.code, self.now - timedelta(minutes=2))
            (stands,) = baths.standings(self.now, of=[bath])
        sheet = next(size for size in self.sizes if size.code == "279x356")
        while stands.used < TIRED_AT:
            # Four of these wear the tank by 8 %: it ends tired, not spent.
            self._log(booking, sheet, 4, self.now - timedelta(minutes=1))
            (stands,) = baths.standings(self.now, of=[bath])

    def _until_due(self, bath: Bath, booking: Booking) -> None:
        sheet = next(size for size in self.sizes if size.code == "203x254")
        while not baths.standings(self.now, of=[bath])[0].replenishment_due:
            self._log(booking, sheet, 4, self.now - timedelta(minutes=1))
