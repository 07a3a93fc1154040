"""A simulated studio as plain data, and how it comes about day by day.

It is made to differ from what is tested with it: sheets are counted (negative binomial), not a smooth area; members
are uneven (lognormal, or few heavy and many light), have sizes of their own and work in projects; the first minutes
of a stay print nothing; nobody is signed in now and then.  Nothing of ``studiodesk`` is imported here.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import accumulate
from math import sin, tau
from random import Random
from typing import NamedTuple
from zoneinfo import ZoneInfo

from .drawing import lognormal, negative_binomial, of_mixture, poisson
from .recipe import SIZES, STRIP, Recipe, Trade

AREA = {code: narrow * long for code, (narrow, long) in SIZES.items()}
GRID = 15
BETWEEN = 15
"""Minutes of clear-up after a stay, in which its place is not given to another."""
PRINTS = [code for code in SIZES if code != STRIP]


class Fed(NamedTuple):
    """Sheets of one size that went through a processor at one time."""

    at: datetime
    processor: str
    size: str
    sheets: int
    kind: str

    @property
    def area_mm2(self) -> int:
        return AREA[self.size] * self.sheets


class Booking(NamedTuple):
    reference: str
    member: str
    process: str
    processor: str
    starts: datetime
    ends: datetime
    made_at: datetime
    cancelled_at: datetime | None
    arrived_at: datetime | None
    fed: tuple[Fed, ...]


class Machine(NamedTuple):
    code: str
    process: str
    places: int


@dataclass(frozen=True)
class Studio:
    """``opening``: every local day from the first to the last (closed days with no span) → spans, UTC."""

    zone: ZoneInfo
    first: date
    opening: dict[date, tuple[tuple[datetime, datetime], ...]]
    machines: tuple[Machine, ...]
    members: tuple[str, ...]
    bookings: tuple[Booking, ...]
    walk_ins: tuple[Fed, ...]

    def at(self, day: date, clock: time = time(6)) -> datetime:
        """That local time of that day, in UTC."""
        return datetime.combine(day, clock, self.zone).astimezone(UTC)

    def sheets_through(self) -> list[Fed]:
        """Everything that went through, in order of time."""
        return sorted([*self.walk_ins, *(line for booking in self.bookings for line in booking.fed)])


@dataclass
class _Person:
    code: str
    keen: dict[str, float]
    rate: dict[str, float]
    sizes: list[str]
    likes: list[float]
    busy: list[bool] | None


def _sheet_mm2(sizes: list[str], likes: list[float]) -> float:
    """The mean area of what a member calls a sheet."""
    return sum(AREA[size] * like for size, like in zip(sizes, likes, strict=True)) / sum(likes)


def _person(random: Random, recipe: Recipe, code: str, days: int) -> _Person:
    if recipe.uneven == "two classes":
        light = 1 / (1 + recipe.heavy_share * (recipe.heavy_times - 1))
        own = light * (recipe.heavy_times if random.random() < recipe.heavy_share else 1)
    else:
        own = lognormal(random, recipe.spread)
    sizes = random.sample(PRINTS, random.choice([1, 2, 2, 3]))
    likes = [random.gammavariate(1.0, 1.0) for _ in sizes]
    # Who makes large prints makes fewer of them, though not so few that the area would be the same.
    own *= (AREA["203x254"] / _sheet_mm2(sizes, likes)) ** 0.6
    keen = {trade.code: random.gammavariate(recipe.keenness, 1.0) for trade in recipe.trades}
    rate = {trade.code: trade.sheets_per_hour * own * lognormal(random, 0.25) for trade in recipe.trades}
    return _Person(code, keen, rate, sizes, likes, _projects(random, recipe, days))


def _projects(random: Random, recipe: Recipe, days: int) -> list[bool] | None:
    """For each day whether the member is busy with a project; None if members know no projects."""
    if not (bursts := recipe.bursts):
        return None
    busy = random.random() < bursts.busy_days / (bursts.busy_days + bursts.rest_days)
    found: list[bool] = []
    while len(found) < days:
        mean = bursts.busy_days if busy else bursts.rest_days
        found += [busy] * round(random.expovariate(1 / mean))
        busy = not busy
    return found[:days]


def _dominant(people: list[_Person], recipe: Recipe) -> None:
    """Make the first member print two thirds: as many bookings as all others together, at twice their area an hour."""
    first, *others = people
    first.sizes, first.likes = ["203x254", "240x305"], [1.0, 1.0]
    for trade in recipe.trades:
        keen = sum(person.keen[trade.code] for person in others)
        area = sum(
            person.keen[trade.code] * person.rate[trade.code] * _sheet_mm2(person.sizes, person.likes)
            for person in others
        )
        first.keen[trade.code] = keen
        first.rate[trade.code] = 2 * area / keen / _sheet_mm2(first.sizes, first.likes)


def _spans(recipe: Recipe, zone: ZoneInfo, day: date) -> tuple[tuple[datetime, datetime], ...]:
    return tuple(
        (
            datetime.combine(day, time.fromisoformat(opens), zone).astimezone(UTC),
            datetime.combine(day, time.fromisoformat(shuts), zone).astimezone(UTC),
        )
        for opens, shuts in recipe.opening.get(day.weekday(), ())
    )


class _Making:
    def __init__(self, recipe: Recipe, seed: int, first: date | None) -> None:
        self.recipe, self.random = recipe, (random := Random(seed))
        self.zone = ZoneInfo(recipe.zone)
        self.days = round((recipe.weeks_before + recipe.weeks_after) * 7)
        self.first = first or date(2026, 1, 5) + timedelta(days=random.randrange(365))
        self.people = [_person(random, recipe, f"M{n:03d}", self.days) for n in range(1, recipe.members + 1)]
        if recipe.dominant:
            _dominant(self.people, recipe)
        self.bookings: list[Booking] = []
        self.walk_ins: list[Fed] = []
        self.opening: dict[date, tuple[tuple[datetime, datetime], ...]] = {}

    def factors(self, number: float) -> tuple[float, float]:
        """What season and steps make of demand and of rate on that day."""
        season = self.recipe.season
        wave = sin(tau * (number - season.first) / season.period_days)
        demand, rate = 1 + season.of_demand * wave, 1 + season.of_rate * wave
        for step in self.recipe.steps:
            if number >= step.day:
                demand, rate = demand * step.of_demand, rate * step.of_rate
        return demand, rate

    def day(self, number: int) -> None:
        random, recipe = self.random, self.recipe
        day = self.first + timedelta(days=number)
        closed = random.random() < recipe.closed_share
        spans = () if closed else _spans(recipe, self.zone, day)
        self.opening[day] = spans
        if not spans:
            return
        demand, rate = self.factors(number)
        open_days = [weekday for weekday in range(7) if weekday in recipe.opening]
        share = recipe.weekdays[day.weekday()] / sum(recipe.weekdays[weekday] for weekday in open_days)
        for trade in recipe.trades:
            weights = [person.keen[trade.code] * self._now(person, number) for person in self.people]
            # Under projects the house is as busy as its members happen to be.
            usual = sum(person.keen[trade.code] for person in self.people) * self._usually()
            asked = poisson(random, trade.bookings_per_week * share * demand * sum(weights) / usual)
            taken: list[tuple[datetime, datetime]] = []
            cumulative = list(accumulate(weights))
            for person in random.choices(self.people, cum_weights=cumulative, k=asked) if asked else ():
                self._book(trade, person, spans, taken, rate)
            self._walk_in(trade, spans, demand, rate)

    def _now(self, person: _Person, number: int) -> float:
        bursts = self.recipe.bursts
        return 1.0 if bursts is None or person.busy is None or person.busy[number] else bursts.seldom

    def _usually(self) -> float:
        if not (bursts := self.recipe.bursts):
            return 1.0
        return (bursts.busy_days + bursts.seldom * bursts.rest_days) / (bursts.busy_days + bursts.rest_days)

    def _book(
        self,
        trade: Trade,
        person: _Person,
        spans: tuple[tuple[datetime, datetime], ...],
        taken: list[tuple[datetime, datetime]],
        rate: float,
    ) -> None:
        """A booking at a time that is free; none if three tries find none (the house is full)."""
        random, recipe = self.random, self.recipe
        cancels = random.random() < recipe.cancels
        places = sum(places for _, places in trade.processors)
        for _ in range(3):
            opens, shuts = random.choice(spans)
            length = timedelta(hours=random.choice(recipe.hours))
            room = int((shuts - opens - length).total_seconds() // (60 * GRID))
            if room < 0:
                continue
            starts = opens + timedelta(minutes=GRID * random.randint(0, room))
            ends, until = starts + length, starts + length + timedelta(minutes=BETWEEN)
            # Never more overlap than places: counted over all that touch, so a little too careful.
            overlapping = sum(1 for other, other_until in taken if other < until and starts < other_until)
            if cancels or overlapping < places:
                break
        else:
            return
        made_at = starts - timedelta(days=of_mixture(random, recipe.leads), minutes=90)
        made_at = made_at.replace(microsecond=0)
        cancelled_at = arrived_at = None
        fed: tuple[Fed, ...] = ()
        place = random.choices(trade.processors, [places for _, places in trade.processors])[0][0]
        if cancels:
            cancelled_at = (made_at + random.random() * (starts - made_at)).replace(microsecond=0)
        else:
            taken.append((starts, until))
            if random.random() >= recipe.no_show:
                arrived_at = starts + timedelta(minutes=random.randint(-8, 20))
                if random.random() >= recipe.unprinted:
                    fed = self._print(trade, person, place, (starts, ends), rate)
                if random.random() < recipe.unsigned:
                    arrived_at = None
        reference = f"B{len(self.bookings) + 1:05d}"
        self.bookings.append(
            Booking(reference, person.code, trade.code, place, starts, ends, made_at, cancelled_at, arrived_at, fed)
        )

    def _print(
        self, trade: Trade, person: _Person, processor: str, stay: tuple[datetime, datetime], rate: float
    ) -> tuple[Fed, ...]:
        random, recipe = self.random, self.recipe
        starts, ends = stay
        hours = (ends - starts).total_seconds() / 3600 - recipe.set_up_hours
        sheets = negative_binomial(random, person.rate[trade.code] * rate * hours, recipe.wobble)
        minutes = int((ends - starts).total_seconds() // 60)
        lines = [
            (size, number, "reject" if random.random() < 0.1 else "print")
            for size, number in Counter(random.choices(person.sizes, person.likes, k=sheets)).items()
        ]
        if sheets and random.random() < 0.5:
            lines.append((STRIP, random.randint(1, 4), "test strip"))
        return tuple(
            Fed(starts + timedelta(minutes=random.randint(20, minutes)), processor, size, number, kind)
            for size, number, kind in lines
        )

    def _walk_in(self, trade: Trade, spans: tuple[tuple[datetime, datetime], ...], demand: float, rate: float) -> None:
        if not trade.walk_ins_per_open_hour:
            return
        random = self.random
        for opens, shuts in spans:
            hours = (shuts - opens).total_seconds() / 3600
            for _ in range(poisson(random, trade.walk_ins_per_open_hour * hours * demand)):
                sheets = 1 + negative_binomial(random, max(trade.sheets_per_walk_in * rate - 1, 0), 2.0)
                at = opens + timedelta(minutes=random.randint(10, int(hours * 60)))
                processor = random.choice(trade.processors)[0]
                self.walk_ins.append(Fed(at, processor, random.choice(PRINTS[:3]), sheets, "print"))


def simulate(recipe: Recipe, seed: int, *, first: date | None = None) -> Studio:
    """The studio that this recipe and this seed give, the same every time; ``first`` is its first local day."""
    making = _Making(recipe, seed, first)
    for number in range(making.days):
        making.day(number)
    bookings = making.bookings
    if recipe.from_scratch:
        opened = datetime.combine(making.first, time(), making.zone)
        bookings = [booking for booking in bookings if booking.made_at >= opened]
    machines = tuple(Machine(code, trade.code, places) for trade in recipe.trades for code, places in trade.processors)
    return Studio(
        making.zone,
        making.first,
        making.opening,
        machines,
        tuple(person.code for person in making.people),
        tuple(sorted(bookings, key=lambda booking: (booking.starts, booking.reference))),
        tuple(sorted(making.walk_ins)),
    )
