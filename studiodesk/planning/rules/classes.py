"""What classes will put through: heads × show rate × area a head, as mean and variance.  Areas mm².  Pure.

Seats: those taken, and each free one with a chance learned from earlier classes at the same lead time.  With too few at
the day of decision the class does not take place.  Of the seats so many heads come (show rate), and a head puts
through what the outline says, times what earlier dates of that outline really put through.  All three start from a
guess of our own (marked below) and are shrunk towards it while there is little history.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from math import comb

from .values import Planned

#: Common practice, from memory: about one head in ten stays away.  Worth so many heads.
SHOW, SHOW_WORTH = 0.9, 20.0
#: Our own guess: of the seats still free so many will be taken, at any lead.  Worth so many seats.
FILLS, FILLS_WORTH = 0.4, 8.0
#: Our own guess: an outline's figure for paper is worth so many dates; how far dates and heads scatter about it.
AS_OUTLINED_WORTH, DATE_CV2, HEAD_CV2 = 3.0, 0.1, 0.25


@dataclass(frozen=True)
class Behind:
    """One date that is over.  ``came``: heads that were ticked, None where nobody ticked any.

    ``head_mm2``: what its outline expects of a head; ``fed_mm2``: what was logged for it, None if nothing was.
    """

    outline: int
    seats: int
    came: int | None
    head_mm2: int
    fed_mm2: int | None = None


@dataclass(frozen=True)
class Filled:
    """A course that has begun: how many seats it had, and (lead in days, heads) of each place that it began with."""

    most: int
    taken: Sequence[tuple[float, int]] = ()

    def by(self, lead: float) -> int:
        """Seats that were taken so many days before."""
        return sum(heads for before, heads in self.taken if before >= lead)


@dataclass(frozen=True)
class Ahead:
    """One date to come, or under way.  ``machines``: processor → its share; ``fed``: what went through already.

    ``least`` 0: it takes place whoever comes.  ``most`` equal to ``booked``: nobody else is expected.
    """

    stay: int
    outline: int
    starts: datetime
    ends: datetime
    booked: int
    most: int
    head_mm2: int
    machines: Mapping[int, float]
    least: int = 0
    fed: Mapping[int, int] = field(default_factory=dict)
    title: str = ""


@dataclass(frozen=True)
class Habits:
    """What earlier classes teach.  ``ratio``: outline → (what goes through over what it says, its cv²)."""

    show: float = SHOW
    ratio: Mapping[int, tuple[float, float]] = field(default_factory=dict)
    filled: Sequence[Filled] = ()

    def fills(self, lead: float) -> float:
        """The chance that a seat which is free so many days before is taken in the end."""
        if lead <= 0:
            return 0.0
        free = sum(max(0, one.most - one.by(lead)) for one in self.filled)
        later = sum(one.by(0) - one.by(lead) for one in self.filled)
        return (FILLS * FILLS_WORTH + later) / (FILLS_WORTH + free)

    def of(self, outline: int) -> tuple[float, float]:
        return self.ratio.get(outline, (1.0, DATE_CV2 / AS_OUTLINED_WORTH))


def habits(behind: Iterable[Behind], filled: Sequence[Filled] = ()) -> Habits:
    """What is learned from dates that are over; those at which nobody ticked or logged teach nothing of that."""
    rows = list(behind)
    ticked = [one for one in rows if one.came is not None and one.seats]
    came = sum(min(one.came or 0, one.seats) for one in ticked)
    show = (SHOW * SHOW_WORTH + came) / (SHOW_WORTH + sum(one.seats for one in ticked))
    ratios: dict[int, list[float]] = {}
    for one in rows:
        heads = one.came if one.came is not None else one.seats * show
        if one.fed_mm2 is not None and heads and one.head_mm2:
            ratios.setdefault(one.outline, []).append(one.fed_mm2 / (heads * one.head_mm2))
    found = {}
    for outline, many in ratios.items():
        worth = AS_OUTLINED_WORTH + len(many)
        found[outline] = ((AS_OUTLINED_WORTH + sum(many)) / worth, DATE_CV2 / worth)
    return Habits(show, found, filled)


def seats_chances(one: Ahead, fills: float) -> list[float]:
    """n → the chance that n seats are taken and it takes place; what is left of 1 is that it does not.

    Binomial over the free seats; with fewer than ``least`` it is called off.
    """
    free = max(0, one.most - one.booked)
    chances = [0.0] * one.booked
    chances += [comb(free, n) * fills**n * (1 - fills) ** (free - n) for n in range(free + 1)]
    return [chance if n >= one.least else 0.0 for n, chance in enumerate(chances)]


def moments(one: Ahead, known: Habits, at: datetime) -> tuple[float, float]:
    """Mean (mm²) and variance (mm⁴) of what this date puts through in all."""
    lead = (one.starts - at).total_seconds() / 86_400
    chances = seats_chances(one, known.fills(lead))
    mean = sum(n * chance for n, chance in enumerate(chances))
    square = sum(n * n * chance for n, chance in enumerate(chances))
    heads = known.show * mean
    heads_square = known.show**2 * square + known.show * (1 - known.show) * mean
    ratio, unsure = known.of(one.outline)
    area = one.head_mm2 * ratio
    spread = HEAD_CV2 * heads + (DATE_CV2 + unsure) * heads_square + heads_square - heads**2
    return area * heads, area**2 * spread


def planned(ahead: Iterable[Ahead], known: Habits, at: datetime) -> list[Planned]:
    """What each date still puts through each of its processors; what went through already is taken off."""
    out = []
    for one in ahead:
        mean, variance = moments(one, known, at)
        for processor, share in one.machines.items():
            left = max(0.0, mean * share - one.fed.get(processor, 0))
            if left:
                out.append(Planned(processor, one.ends, left, variance * share**2, one.stay))
    return out
