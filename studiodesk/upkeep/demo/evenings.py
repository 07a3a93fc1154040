"""Who comes when in the demo: the people in the house now, a full evening, and the days before and ahead.

Everything is booked, signed in and logged through the acts, each at the moment at which it would have happened.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
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
        self.kit = {item.code: item for item in stations.kit()}
        self.made: list[Booking] = []
        self.late: Booking | None = None
        self._away: dict[int, list[Span]] = defaultdict(list)

    def keep_away(self, person: Member, span: Span) -> None:
        """They are somewhere else then, in a class, and book nothing."""
        self._away[person.pk].append(span)

    def is_away(self, person: Member, span: Span) -> bool:
        return any(one.overlaps(span) for one in self._away[person.pk])

    def ask(
        self,
        station: Station,
        process: Process | None,
        span: Span,
        *,
        who: Member | None = None,
        ahead: int = 10,
        kit: Mapping[str, int] | None = None,
        guests: int = 0,
    ) -> Booking | None:
        """One booking, made up to ``ahead`` days before it starts and not after now; None if it was refused."""
        latest = min(span.starts - timedelta(hours=3), self.now - timedelta(minutes=1))
        made_at = latest - timedelta(minutes=self.random.randrange(ahead * 24 * 60))
        member = who or self.random.choice(self.people)
        if self.is_away(member, span):
            return None
        try:
            return bookings.book(
                member=member,
                station=station,
                process=process,
                starts=span.starts,
                ends=span.ends,
                now=made_at.replace(second=0, microsecond=0),
                by=member,
                kit={self.kit[code]: pieces for code, pieces in (kit or {}).items()},
                guests=guests,
                quietly=True,
            )
        except Refused:
            return None

    def ask_some(
        self,
        station: Station,
        process: Process,
        span: Span,
        *,
        kit: Mapping[str, int] | None = None,
        guests: int = 0,
        tries: int = 6,
    ) -> Booking | None:
        """The same for the first of some who are not here at that time: their hours may be used up, or their pass is
        for another day.
        """
        touching = Booking.objects.filter(cancelled_at=None, starts__lt=span.ends, ends__gt=span.starts)
        busy = set(touching.values_list("member_id", flat=True))
        free = [person for person in self.people if person.pk not in busy]
        for who in self.random.sample(free, min(tries, len(free))):
            booking = self.ask(station, process, span, who=who, kit=kit, guests=guests)
            if booking is not None:
                return booking
        return None

    def with_time_soon(self) -> list[Member]:
        """Those first who have nothing booked for the next two days; whoever has a day pass is left out."""
        soon = Booking.objects.filter(cancelled_at=None, ends__gt=self.now, starts__lt=self.now + timedelta(days=2))
        busy = set(soon.values_list("member_id", flat=True))
        return sorted(self.people[:-1], key=lambda person: (person.pk in busy, person.pk))

    def station(self, code: str) -> Station:
        return next(station for station in self.stations if station.code == code)

    def in_the_house_now(self) -> None:
        """Three people are at work, one of them with a guest, and a fourth should have been here a quarter of an hour
        ago.
        """
        base = self.now - timedelta(seconds=self.now.timestamp() % QUARTER.total_seconds())
        for code, process, before, after, guests, kit in (
            ("E5", "fb", 8, 8, 0, {"WASHER": 2, "SCREEN": 2, "LENS-150": 1}),
            ("E3", "ra4", 5, 9, 0, {"LENS-80": 1}),
            ("E1", "rc", 3, 10, 1, {"LENS-50": 1, "FOCUSER": 1}),
        ):
            span = Span(base - before * QUARTER, base + after * QUARTER)
            self.made.append(self._come(code, process, span, kit, guests))
        self.late = self._come("E2", "rc", Span(base - QUARTER, base + 8 * QUARTER), {}, 0)

    def _come(self, code: str, process: str, span: Span, kit: Mapping[str, int], guests: int) -> Booking:
        station = self.station(code)
        wanted = next(p for p in station.processes.all() if p.code == process)
        booking = self.ask_some(station, wanted, span, kit=kit, guests=guests, tries=len(self.people))
        if booking is None:
            raise ValueError(f"nobody of the demo can book {code} now")
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
        kit = self._taken_along(station, process)
        booking = self.ask(station, process, Span(starts, starts + length), kit=kit)
        if booking is None:
            return
        if self.random.random() < 0.08 and starts > self.now:
            given_back = max(booking.made_at, self.now - timedelta(hours=self.random.randrange(2, 90)))
            bookings.cancel(booking=booking, now=given_back, by=booking.member)
        elif starts < self.now and self.random.random() < 0.88:
            self.made.append(booking)

    def _taken_along(self, station: Station, process: Process | None) -> dict[str, int]:
        """What people mostly borrow there."""
        if station.kind == "film sink":
            return {"TANK-2": 1, "REEL": 2, "CABINET": 1}
        if process is None or self.random.random() < 0.5:
            return {}
        if process.code == "fb":
            return {"WASHER": 1, "SCREEN": 1}
        return {self.random.choice(("LENS-50", "LENS-80")): 1, "FOCUSER": 1}
