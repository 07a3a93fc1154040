"""What leaves a tank as water while nobody works with it.  Pure; amounts pL, days whole local days.

Only water evaporates, so only water takes its place; a level that falls while paper goes through is carried out with
the paper, or the pump stands still: that is never made up with water (US Navy NAVEDTRA 14209, US Army SS0509-8).
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from statistics import median

ALARM_AT = 3  # times what is usual
LEARNED_FROM = 3  # toppings-up


def times_usual(pl: int, days: int, pl_per_day: int | None) -> Fraction | None:
    """How many times as much as usual was missing after ``days`` (at least one); None where nothing is known."""
    if not pl_per_day:
        return None
    return Fraction(pl, max(1, days) * pl_per_day)


def is_alarm(times: Fraction | None) -> bool:
    """Three times as much is an alarm; just under it is not."""
    return times is not None and times >= ALARM_AT


def learned(toppings: Sequence[tuple[int, int]]) -> int | None:
    """pL a day by the log: the median over (days, pL) of what was topped up; None from fewer than three of them."""
    if len(toppings) < LEARNED_FROM:
        return None
    return round(median(Fraction(pl, max(1, days)) for days, pl in toppings))
