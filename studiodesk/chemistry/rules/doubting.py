"""What is asked once more before it is written down: possible, but more often a slip of the pen.  Pure.

Whoever sends the same form again is taken at their word.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

from studiodesk.answers import Refusal
from studiodesk.units import PL_PER_ML

LONG_AGO = timedelta(days=365)
TIMES_DUE = 3
SHARE_OF_TANK = 20  # up to a twentieth of the tank nothing is asked
SMALL_PL = 20 * PL_PER_ML  # less than anybody measures out for a tank of some litres
CODES = frozenset(
    {
        "chemistry.container_less_perhaps",
        "chemistry.far_less_than_recipe",
        "chemistry.far_more_than_recipe",
        "chemistry.litres_perhaps",
        "chemistry.much_more_than_due",
        "chemistry.not_evaporated",
        "chemistry.nothing_due",
        "chemistry.only_expired",
        "chemistry.over_a_year_ago",
    }
)


def doubt_given(amount_pl: int, outstanding_pl: int | None, volume_pl: int) -> Refusal | None:
    """More than three times what is due and more than a twentieth of the tank (all in pL)."""
    due = max(0, outstanding_pl or 0)
    if amount_pl <= TIMES_DUE * due or amount_pl * SHARE_OF_TANK <= volume_pl:
        return None
    if due == 0 or amount_pl > 1000 * due:
        return Refusal("chemistry.nothing_due")
    return Refusal("chemistry.much_more_than_due", {"times": round(amount_pl / due)})


def doubt_unit(amount_pl: int, outstanding_pl: int | None, volume_pl: int) -> Refusal | None:
    """So little that litres were probably meant: under 20 mL, not asked for, and the tank could hold it in litres."""
    if amount_pl >= SMALL_PL or amount_pl <= (outstanding_pl or 0) or amount_pl * 1000 > volume_pl:
        return None
    return Refusal("chemistry.litres_perhaps", {"litres": amount_pl / PL_PER_ML})


def doubt_level(wanted_pl: int, level_pl: int | None, name: str) -> Refusal | None:
    """More than there is in the container that it came from (``None``: not known)."""
    if level_pl is None or wanted_pl <= level_pl:
        return None
    return Refusal("chemistry.container_less_perhaps", {"container": name, "level_ml": level_pl // PL_PER_ML})


def doubt_water(worked_today: bool) -> Refusal | None:
    """Paper went through since it was topped up: what is missing went with the paper, or the pump stands still."""
    return Refusal("chemistry.not_evaporated") if worked_today else None


def doubt_moment(at: datetime, now: datetime, day: date) -> Refusal | None:
    """More than a year back; ``day`` is the local day of ``at``, to say it."""
    return Refusal("chemistry.over_a_year_ago", {"day": day}) if at < now - LONG_AGO else None
