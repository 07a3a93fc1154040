"""What a simulated studio is made from.

Every figure here is invented, chosen to look like a shared darkroom; none was fitted to any forecast.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from random import Random

Span = tuple[str, str]

#: Code → narrow and long edge in mm: usual cut sizes of printing paper, named by their millimetres.
SIZES: dict[str, tuple[int, int]] = {
    "50x203": (50, 203),
    "127x178": (127, 178),
    "203x254": (203, 254),
    "240x305": (240, 305),
    "279x356": (279, 356),
    "305x406": (305, 406),
    "406x508": (406, 508),
}
STRIP = "50x203"

LATE_WEEK: dict[int, tuple[Span, ...]] = {
    1: (("13:00", "22:00"),),
    2: (("13:00", "22:00"),),
    3: (("13:00", "22:00"),),
    4: (("10:00", "22:00"),),
    5: (("10:00", "18:00"),),
    6: (("10:00", "18:00"),),
}
EVERY_DAY: dict[int, tuple[Span, ...]] = dict.fromkeys(range(7), (("09:00", "13:00"), ("14:00", "22:00")))


@dataclass(frozen=True)
class Trade:
    """A process and the processors that run it."""

    code: str
    bookings_per_week: float
    sheets_per_hour: float
    processors: tuple[tuple[str, int], ...]
    """Code and places of each processor."""
    walk_ins_per_open_hour: float = 0.0
    sheets_per_walk_in: float = 3.0


@dataclass(frozen=True)
class Season:
    """1 + height·sin(2π·(day − first)/period), a factor on how many book and on how much is printed an hour."""

    of_demand: float = 0.0
    of_rate: float = 0.0
    period_days: float = 365.25
    first: float = 0.0


@dataclass(frozen=True)
class Step:
    """From ``day`` on (counted from the studio's first) everything is multiplied."""

    day: float
    of_demand: float = 1.0
    of_rate: float = 1.0


@dataclass(frozen=True)
class Bursts:
    """Members work in projects: busy for a while, then seldom seen.  Mean lengths in days, exponentially spread."""

    busy_days: float = 14.0
    rest_days: float = 42.0
    seldom: float = 0.03
    """How often who rests books, as a share of when busy."""


@dataclass(frozen=True)
class Recipe:
    trades: tuple[Trade, ...]
    weeks_before: float
    weeks_after: float = 4.0
    members: int = 20
    uneven: str = "lognormal"
    """How members differ in what they print in an hour: ``lognormal`` or ``two classes`` (few heavy, many light)."""
    spread: float = 0.6
    """``lognormal``: the coefficient of variation; ``two classes``: unused."""
    heavy_share: float = 0.2
    heavy_times: float = 4.0
    keenness: float = 0.8
    """Shape of the gamma weights by which members book; the smaller the more uneven."""
    wobble: float = 3.0
    """Shape of the negative binomial of sheets in a session: variance = mean + mean²/shape."""
    set_up_hours: float = 0.25
    """Nothing is printed while the enlarger is set up, so sheets are not proportional to the hours."""
    no_show: float = 0.06
    unprinted: float = 0.04
    unsigned: float = 0.1
    """Came and printed, but nobody signed them in."""
    cancels: float = 0.12
    leads: tuple[tuple[float, float, float], ...] = ((0.3, 1.0, 1.0), (0.5, 7.0, 2.0), (0.2, 24.0, 5.0))
    """How long before it starts a booking is made: weight, mean in days and shape of each gamma of the mixture."""
    weekdays: tuple[float, ...] = (1.0, 0.8, 0.9, 1.0, 1.2, 1.5, 1.3)
    hours: tuple[float, ...] = (1.5, 2.0, 2.5, 3.0, 3.5, 4.0)
    opening: dict[int, tuple[Span, ...]] = field(default_factory=lambda: LATE_WEEK)
    zone: str = "Europe/Amsterdam"
    season: Season = Season()
    steps: tuple[Step, ...] = ()
    bursts: Bursts | None = None
    from_scratch: bool = False
    """The calendar opens with the house: no stay of its first weeks was booked before the first day."""
    dominant: bool = False
    """One member makes about half the bookings at twice the rate: two thirds of the area."""
    closed_share: float = 0.02
    """Share of the days on which the house is closed though its weekday is open, known to all beforehand."""

    def but(self, **changes: object) -> Recipe:
        return replace(self, **changes)  # type: ignore[arg-type]


def usual(
    random: Random,
    *,
    sessions: float,
    per_week: tuple[float, float] = (4.0, 14.0),
    others: int = 2,
    sheets_per_hour: float = 2.7,
    **fixed: object,
) -> Recipe:
    """A steady studio drawn at random whose first process has about ``sessions`` past sessions at its processor.

    Its history is as long as that takes at the drawn pace of ``per_week`` sessions; ``others`` further processes with
    their own paces and rates share house and members.
    """
    pace = random.uniform(*per_week)
    cancels, no_show = random.uniform(0.05, 0.2), random.uniform(0.02, 0.12)
    typical = sheets_per_hour * random.lognormvariate(0.0, 0.45)
    trades = [_trade(random, "target", pace / (1 - cancels), typical)]
    trades += [_trade(random, f"other{n}", random.uniform(2, 8), typical) for n in range(others)]
    early = random.uniform(0.1, 0.5)
    recipe = Recipe(
        trades=tuple(trades),
        weeks_before=sessions / pace,
        members=random.randint(6, 40),
        uneven=random.choice(["lognormal", "lognormal", "two classes"]),
        spread=random.uniform(0.3, 1.0),
        heavy_times=random.uniform(2.5, 6.0),
        keenness=random.uniform(0.5, 2.0),
        wobble=random.uniform(1.5, 8.0),
        no_show=no_show,
        cancels=cancels,
        leads=(
            (early, random.uniform(0.5, 2.0), 1.0),
            (0.8 - early, random.uniform(4.0, 10.0), 2.0),
            (0.2, random.uniform(18.0, 30.0), 5.0),
        ),
        weekdays=tuple(random.uniform(0.5, 1.5) for _ in range(7)),
        opening=random.choice([LATE_WEEK, EVERY_DAY]),
    )
    return recipe.but(**fixed)


def _trade(random: Random, code: str, per_week: float, typical: float) -> Trade:
    rate = typical * random.lognormvariate(0.0, 0.35)
    walk_ins = random.choice([0.0, random.uniform(0.0, 0.15)]) * per_week * 2.5 * rate
    sheets = random.uniform(2.0, 4.0)
    return Trade(code, per_week, rate, ((f"P-{code}", 4),), walk_ins / sheets / 60, sheets)
