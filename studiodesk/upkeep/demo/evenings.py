"""Who comes when in the demo: the people in the house now, a full evening, and the days before and ahead.

Everything is booked, signed in and logged through the acts, each at the moment at which it would have happened.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from random import Random
from zoneinfo import ZoneInfo

from studiodesk.answers import Refused
from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Booking
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations import rules as hours
from studiodesk.stations.models import Process, Station
from studiodesk.timekeeping import Span, day_span, studio_day

QUARTER = timedelta(minutes=15)
EVENING_HOUR = 17
DAYS_AHEAD = 21


class Evenings:
    """Makes bookings; ``made`` holds those whose people come, in the order of making."""

    def __init__(self, *, now: datetime, zone: ZoneInfo, people: Sequence[Member], random: Random) -> None:
        self.now, self.zone, self.people, self.random = now, zone, people, random
        self.stations = list(stations.stations().order_by("pk"))
        self.booths = [station for station in self.stations if station.processes.all()]
        self.hours = stations.hours()
        self.made: list[Booking] = []
        self.late: Booking | None = None

    def ask(
        self, station: Station, process: Process | None, span: Span, *, who: Member | None = None, ahead: int = 10
    ) -> Booking | None:
        """One booking, made up to ``ahead`` days before it starts and not after now; None if it was refused."""
        latest = min(span.starts - timedelta(hours=3), self.now - timedelta(minutes=1))
        made_at = latest - timedelta(minutes=self.random.randrange(ahead * 24 * 60))
        member = who or self.random.choice(self.people)
        try:
            return bookings.book(
                member=member,
                station=station,
                process=process,
                starts=span.starts,
                ends=span.ends,
                now=made_at.replace(second=0, microsecond=0),
                by=member,
            )
        except Refused:
            return None

    def station(self, code: str) -> Station:
        return next(station for station in self.stations if station.code == code)

    def in_the_house_now(self) -> None:
        """Three people are at work and a fourth should have been here a quarter of an hour ago."""
        base = self.now - timedelta(seconds=self.now.timestamp() % QUARTER.total_seconds())
        for code, process, before, after in (("E5", "fb", 8, 8), ("E3", "ra4", 5, 9), ("E1", "rc", 3, 10)):
            self._come(code, process, Span(base - before * QUARTER, base + after * QUARTER))
        self.late = self._come("E2", "rc", Span(base - QUARTER, base + 8 * QUARTER), comes=False)

    def _come(self, code: str, process: str, span: Span, *, comes: bool = True) -> Booking | None:
        station = self.station(code)
        wanted = next(p for p in station.processes.all() if p.code == process)
        busy = set(
            Booking.objects.filter(starts__lt=span.ends, ends__gt=span.starts).values_list("member_id", flat=True)
        )
        who = self.random.choice([person for person in self.people if person.pk not in busy])
        booking = self.ask(station, wanted, span, who=who)
        if booking is not None and comes:
            self.made.append(booking)
        return booking

    def openings_on(self, days: int) -> list[Span]:
        """When the house is open so many days from today."""
        return hours.open_spans(studio_day(self.now, self.zone) + timedelta(days=days), self.hours, self.zone)

    def evening_ahead(self) -> Span:
        """This evening if three hours of it are left, else the next one on which the house is open."""
        for days in range(15):
            for opening in self.openings_on(days):
                whole = day_span(studio_day(opening.starts, self.zone), self.zone)
                five = whole.starts + timedelta(hours=EVENING_HOUR)
                starts = max(opening.starts, self.now, min(five, opening.ends - timedelta(hours=4)))
                if opening.ends - starts >= timedelta(hours=3):
                    return Span(starts, opening.ends)
        raise ValueError("the demo's house is never open")

    def fill(self, evening: Span) -> None:
        """Every booth one booking after the other, as far as there are places at the processors."""
        for station in self.booths:
            at = evening.starts + (-evening.starts.timestamp() % QUARTER.total_seconds()) * timedelta(seconds=1)
            clear_up = timedelta(minutes=station.clear_up_minutes)
            while at + timedelta(hours=1) + clear_up <= evening.ends:
                length = min(self.random.choice((2, 3)) * 4 * QUARTER, evening.ends - clear_up - at)
                for process in self.random.sample(list(station.processes.all()), len(station.processes.all())):
                    if self.ask(station, process, Span(at, at + length)):
                        at += length + clear_up
                        break
                else:
                    at += QUARTER

    def ordinary_days(self, since: datetime) -> None:
        """The days since the file ends, and three weeks ahead that grow emptier the further they lie."""
        first = studio_day(since, self.zone)
        today = studio_day(self.now, self.zone)
        for offset in range((today - first).days + DAYS_AHEAD + 1):
            day = first + timedelta(days=offset)
            fullness = 10 if day <= today else max(3, 10 - (day - today).days // 3)
            for opening in hours.open_spans(day, self.hours, self.zone):
                for _ in range(fullness):
                    self._anyone(opening, since)

    def _anyone(self, opening: Span, since: datetime) -> None:
        station = self.random.choice([*self.booths, *self.stations])
        processes = list(station.processes.all())
        process = self.random.choice(processes) if processes else None
        length = self.random.choice((8, 8, 12, 12, 16)) * QUARTER
        room = int((opening.length - length) / QUARTER)
        if room < 1:
            return
        starts = opening.starts + self.random.randrange(room) * QUARTER
        if starts <= since or starts <= self.now < starts + length:
            return  # the file's last hours and the present are told already
        booking = self.ask(station, process, Span(starts, starts + length))
        if booking is None:
            return
        if self.random.random() < 0.08 and starts > self.now:
            bookings.cancel(booking=booking, now=self.now - timedelta(minutes=1), by=booking.member)
        elif starts < self.now and self.random.random() < 0.88:
            self.made.append(booking)
