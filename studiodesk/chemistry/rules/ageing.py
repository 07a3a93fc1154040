"""How much of its shelf life a mix has used up, and by when it has to be used.  Pure.

Used = Σ Δt/L over the states in which it stood, spent at 1 (design: chemistry.md, sum 7).  Elapsed time in seconds.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from fractions import Fraction

FULL, PART_FULL, FLOATING_LID, TANK, TRAY = "full bottle", "part-full bottle", "floating lid", "tank", "tray"
BOTTLE, LID, IN_TRAY, WASTE = "bottle", "floating lid", "tray", "waste"
#: From nine tenths of what it holds there is hardly air in a bottle: common practice, no source.
FULL_FROM = Fraction(9, 10)

FILLED, TAKEN, MEASURED, EMPTIED = "filled", "taken", "measured", "emptied"

Lives = Mapping[str, int]


def state_of(sort: str, level_pl: int, capacity_pl: int) -> str:
    """The state that counts for ageing, of a container of this sort with so much in it."""
    if sort == LID:
        return FLOATING_LID
    if sort == IN_TRAY:
        return TRAY
    return FULL if level_pl >= capacity_pl * FULL_FROM else PART_FULL


@dataclass(frozen=True)
class Stay:
    """From when to when something stood in one state."""

    state: str
    starts: datetime
    ends: datetime


def used(stays: Iterable[Stay], lives: Lives) -> Fraction:
    """Σ Δt/L.  A state whose life is not kept uses nothing: ``unknown`` says that it was there."""
    total = Fraction(0)
    for stay in stays:
        if lives.get(stay.state):
            total += Fraction(_microseconds(stay.ends - stay.starts), lives[stay.state] * 1_000_000)
    return total


def use_by(spent: Fraction, state: str, at: datetime, lives: Lives) -> datetime | None:
    """When it is spent if it stays as it is from ``at``; ``None`` if the life of this state is not kept."""
    life = lives.get(state)
    if not life:
        return None
    left = max(Fraction(0), 1 - spent) * life
    return at + timedelta(seconds=int(left))


def earliest(*moments: datetime | None) -> datetime | None:
    """Of mixed, opened and use by: whichever comes first."""
    return min((one for one in moments if one is not None), default=None)


@dataclass(frozen=True)
class Happened:
    """A line of a container's book: ``amount_pl`` went in or out, or is the level that was read."""

    container: int
    event: str
    at: datetime
    amount_pl: int


@dataclass(frozen=True)
class Vessel:
    """What a container is: its sort and how much goes into it."""

    sort: str
    capacity_pl: int


@dataclass(frozen=True)
class Stock:
    """How much of a mix stands in one container, and how old it is at ``at``."""

    level_pl: int
    spent: Fraction
    at: datetime
    state: str
    unknown: bool = False
    over_at: datetime | None = None  # when it was spent

    def aged(self, until: datetime, lives: Lives) -> Stock:
        """The same, later: nothing ages while there is nothing."""
        if self.level_pl <= 0 or until <= self.at:
            return replace(self, at=max(until, self.at))
        spent = self.spent + used([Stay(self.state, self.at, until)], lives)
        over = self.over_at
        if over is None and spent >= 1:
            over = use_by(self.spent, self.state, self.at, lives)
        return replace(self, at=until, spent=spent, unknown=self.unknown or not lives.get(self.state), over_at=over)

    def use_by(self, lives: Lives) -> datetime | None:
        """When it is spent, or was, if it stays as it is; ``None`` if the life of its state is not kept."""
        return self.over_at or use_by(self.spent, self.state, self.at, lives)


def levels(happened: Iterable[Happened], vessels: Mapping[int, Vessel], lives: Lives) -> dict[int, Stock]:
    """Container → what stands there of one mix, from all that happened to that mix, in order.

    What is poured over brings its age along; poured onto the same mix the older of the two counts.
    """
    out: dict[int, Stock] = {}
    brought: Stock | None = None
    for one in happened:
        vessel = vessels[one.container]
        here = out.get(one.container)
        stands = here.aged(one.at, lives) if here else Stock(0, Fraction(0), one.at, "")
        level = stands.level_pl
        if one.event == FILLED:
            stands = _joined(stands if level > 0 else None, brought, one.at)
            level += one.amount_pl
        elif one.event == TAKEN:
            brought = stands
            level -= one.amount_pl
        elif one.event == MEASURED:
            level = one.amount_pl
        elif one.event == EMPTIED:
            level = 0
        level = max(0, level)
        out[one.container] = replace(stands, level_pl=level, state=state_of(vessel.sort, level, vessel.capacity_pl))
    return out


def _joined(here: Stock | None, brought: Stock | None, at: datetime) -> Stock:
    """What is poured onto what stands there already: the older of the two, unknown if one of them is."""
    both = [one for one in (here, brought) if one is not None]
    if not both:
        return Stock(0, Fraction(0), at, "")
    older = max(both, key=lambda one: one.spent)
    return replace(older, at=at, unknown=any(one.unknown for one in both))


def _microseconds(length: timedelta) -> int:
    return length // timedelta(microseconds=1)
