"""What a bath's fan is drawn from, how far it reaches, and the same as a table and in a few words.  Pure."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

AHEAD_LEAST, BEYOND = 10, 2  # days: at least so many, and so many after the end is nearly sure
AHEAD_IN_M2 = 35  # days, of a bath that nothing ends
BY_DAY = 7  # the first days of the table; then weeks
MIDDLE = 0.5
SUREST = 0.025  # the lower edge of the widest band: once it is over the limit, the end is behind


@dataclass(frozen=True)
class FanFacts:
    """What is known and expected of one tank.

    ``bands``: share (0.025, 0.1, 0.25, 0.5, 0.75, 0.9, 0.975) → how much of ``limit`` is used (1 is all) by the end of
    each of ``days``, under which it stays with that chance; for a bath without a limit by use m² instead (``in_m2``).
    ``chance``: that the first limit is reached by that day's end.  ``recorded``: (moment, used) of this tank, in order.
    """

    days: Sequence[date]
    bands: Mapping[float, Sequence[float]]
    chance: Sequence[float]
    recorded: Sequence[tuple[datetime, float]]
    closed: Collection[date]
    age_day: date | None
    limit: str
    row: Any
    in_m2: bool = False


@dataclass(frozen=True)
class Week:
    """One line of the table: by the end of ``day``."""

    day: date
    low: float
    middle: float
    high: float
    chance: float


def days_shown(facts: FanFacts) -> int:
    """How many days ahead are drawn: until the widest band is over the limit or the bath too old, ten at least."""
    days = len(facts.days)
    ends = [] if facts.in_m2 else [n for n, used in enumerate(facts.bands[SUREST]) if used >= 1][:1]
    if facts.age_day is not None and days:
        ends.append((facts.age_day - facts.days[0]).days)
    if not ends:
        return min(days, AHEAD_IN_M2) if facts.in_m2 else days
    return min(days, max(AHEAD_LEAST, min(ends) + 1 + BEYOND))


def days_drawn(facts: FanFacts) -> int:
    """How many days the bands reach: behind the age wall there is another tank."""
    shown = days_shown(facts)
    if facts.age_day is None:
        return shown
    return max(0, min(shown, (facts.age_day - facts.days[0]).days + 1)) if facts.days else 0


def weeks(facts: FanFacts) -> list[Week]:
    """The same as the drawing: a line for each of the next seven days, then for each week."""
    last = days_drawn(facts)
    numbers = [*range(min(BY_DAY, last)), *range(BY_DAY + 6, last, 7)]
    if last and (not numbers or numbers[-1] != last - 1):
        numbers.append(last - 1)
    low, middle, high = (facts.bands[share] for share in (0.1, MIDDLE, 0.9))
    return [Week(facts.days[n], low[n], middle[n], high[n], facts.chance[n]) for n in numbers]


def crossed(facts: FanFacts, share: float) -> date | None:
    """The first drawn day by whose end the line of ``share`` is over the limit; None if it is not, or in m²."""
    if facts.in_m2:
        return None
    drawn = zip(facts.days[: days_drawn(facts)], facts.bands[share], strict=False)
    return next((day for day, used in drawn if used >= 1), None)
