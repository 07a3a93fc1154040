"""May a pump's stroke, or the level of a bottle, be written down?  Pure; amounts pL."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from studiodesk.answers import Refusal
from studiodesk.units import PL_PER_ML

from .entered_rates import LEAST_CATCHES
from .settings import MACHINE, BathSettings

MOST_STROKES = 100


def may_calibrate(
    figures: BathSettings, name: str, strokes_each: int, caught_pl: Sequence[int], *, at: datetime, now: datetime
) -> Refusal | None:
    """A bath that a pump replenishes, three catches or more, each of something and no more than the tank."""
    if figures.dosing != MACHINE:
        return Refusal("chemistry.no_pump", {"bath": name})
    if at > now:
        return Refusal("chemistry.in_the_future", {"at": at})
    if len(caught_pl) < LEAST_CATCHES or not 1 <= strokes_each <= MOST_STROKES:
        return Refusal("chemistry.too_few_catches", {"least": LEAST_CATCHES})
    if any(not 0 < one <= figures.volume_pl for one in caught_pl):
        return Refusal("chemistry.catch_absurd", {"bath": name, "most_ml": figures.volume_pl // PL_PER_ML})
    return None


def may_read(
    *, capacity_pl: int, level_pl: int, poured_in_pl: int, at: datetime, now: datetime, last_at: datetime | None
) -> Refusal | None:
    """A level the bottle can have, and what was poured in fits on top of it; readings come in the order of time."""
    if at > now:
        return Refusal("chemistry.in_the_future", {"at": at})
    if last_at is not None and at <= last_at:
        return Refusal("chemistry.bottle_read_before", {"at": last_at})
    if level_pl < 0 or poured_in_pl < 0 or level_pl + poured_in_pl > capacity_pl:
        return Refusal("chemistry.bottle_level_absurd", {"most_ml": capacity_pl // PL_PER_ML})
    return None
