"""Two-bath fixing: the second bath becomes the first, a fresh one is mixed behind it.  Pure.

The count of the first begins at 0 again, its shelf life goes on as it was used up in the second; after so many
rotations both are poured away (common practice of printed fixing instructions; the number is the studio's own).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from studiodesk.answers import Refusal
from studiodesk.units import PL_PER_L

from .settings import BathSettings
from .tank import TankState, silver_ug_per_l
from .using import life_used


@dataclass(frozen=True)
class Rotated:
    """What the first bath begins with: since when it ages, the silver in it (µg/L) and how often it was rotated."""

    age_from: datetime | None
    silver_ug_per_l: int
    rotation: int


def may_rotate(
    first: TankState, second: TankState, limit: int | None, *, name: str, next_name: str, at: datetime, now: datetime
) -> Refusal | None:
    """There has to be something in the second bath, and rotations left."""
    if at > now:
        return Refusal("chemistry.in_the_future", {"at": at})
    if second.dumped_at is not None:
        return Refusal("chemistry.tank_is_empty", {"bath": next_name})
    if second.condemned_at is not None or second.contaminated_at is not None:
        return Refusal("chemistry.next_bath_is_spent", {"bath": next_name})
    if limit is not None and first.rotation >= limit:
        return Refusal("chemistry.rotations_used", {"bath": name, "next": next_name, "times": limit})
    return None


def rotated(
    first: TankState, second: TankState, figures: BathSettings, second_figures: BathSettings, at: datetime
) -> Rotated:
    """``figures``: of the first bath, in whose measure the shelf life goes on: the share that is used up stays.

    Where neither has a shelf life the filling of the second is kept, so that the board can still say how old it is.
    """
    used = life_used(second, second_figures, at)
    age_from = second.age_from or second.since
    if used is not None and figures.age_limit_s:
        age_from = at - timedelta(seconds=used * figures.age_limit_s)
    return Rotated(age_from, round(silver_ug_per_l(second, second_figures.volume_pl)), first.rotation + 1)


def capacity_of_the_pair_mm2(figures: BathSettings, rotations: int) -> int | None:
    """What a pair takes from the first print until both go: K·V for each time that a bath is the first.

    50 prints a litre, rotated four times: 50·(1 + 4) = 250.  None without a capacity.
    """
    if not figures.capacity_mm2_per_l:
        return None
    return figures.capacity_mm2_per_l * figures.volume_pl // PL_PER_L * (1 + rotations)
