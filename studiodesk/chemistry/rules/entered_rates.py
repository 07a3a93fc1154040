"""Rates, capacities and pump strokes as people write them, rounded once to whole units.  Pure.

A rate is kept as it was entered and as whole µL/m²; a capacity as whole mm² per litre; a stroke as whole pL.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction

from studiodesk.units import MM2_PER_FT2, MM2_PER_M2, PL_PER_ML, decimal_of, scaled

PER_M2, PER_FT2, PER_SHEET = "mL/m²", "mL/ft²", "mL/sheet"
PER_METRE, PER_FOOT, PER_100_FEET = "mL/m of a width", "mL/ft of a width", "mL/100 ft of a width"
RATE_UNITS = (PER_M2, PER_FT2, PER_SHEET, PER_METRE, PER_FOOT, PER_100_FEET)
#: mm along the web for the units that go by length.
LENGTHS = {PER_METRE: Decimal(1000), PER_FOOT: Decimal("304.8"), PER_100_FEET: Decimal("30480")}
UL_PER_ML = 1_000

M2_PER_L, SHEETS_PER_L = "m²/L", "sheets/L"
CAPACITY_UNITS = (M2_PER_L, SHEETS_PER_L)

LEAST_CATCHES = 3
FLAGGED_OVER = Fraction(5, 100)


def rate_ul_per_m2(value: object, unit: str, *, sheet_mm2: int | None = None, width_mm: int | None = None) -> int:
    """``value`` in one of ``RATE_UNITS`` as whole µL/m²: mL × 1000 over the area that it is for.

    ``sheet_mm2``: the area of the sheet that "mL/sheet" speaks of; ``width_mm``: of the web, for the units that go by
    length.  A narrow web's rule by length is not always true to area, which is why it is a way of its own to say it.
    ``ValueError`` if what the unit needs is missing, or it is no unit.
    """
    if unit == PER_M2:
        area = Decimal(MM2_PER_M2)
    elif unit == PER_FT2:
        area = MM2_PER_FT2
    elif unit == PER_SHEET and sheet_mm2:
        area = Decimal(sheet_mm2)
    elif unit in LENGTHS and width_mm:
        area = LENGTHS[unit] * width_mm
    else:
        raise ValueError(f"{unit!r} needs more to be a rate")
    return scaled(decimal_of(value) * UL_PER_ML * MM2_PER_M2 / area, 1)


def capacity_mm2_per_l(value: object, unit: str, *, sheet_mm2: int | None = None) -> int:
    """``value`` m² or sheets in one litre as whole mm²/L.  ``ValueError`` as above."""
    if unit == M2_PER_L:
        return scaled(value, MM2_PER_M2)
    if unit == SHEETS_PER_L and sheet_mm2:
        return scaled(value, sheet_mm2)
    raise ValueError(f"{unit!r} needs more to be a capacity")


def mean_stroke_pl(caught_pl: Sequence[int], strokes_each: int) -> int:
    """What one stroke gives: the mean of at least three catches of so many strokes each, rounded once to whole pL.

    ``ValueError`` for fewer than three, or for no strokes.
    """
    if len(caught_pl) < LEAST_CATCHES or strokes_each < 1:
        raise ValueError("three catches at least, of one stroke or more")
    mean = Decimal(sum(caught_pl)) / (len(caught_pl) * strokes_each)
    return int(mean.to_integral_value(ROUND_HALF_EVEN))


def change_of_stroke(was_pl: int | None, is_pl: int) -> Fraction:
    """How far the stroke moved, as an exact share of what it was; 0 where none was known."""
    return Fraction(abs(is_pl - was_pl), was_pl) if was_pl else Fraction(0)


def is_flagged(was_pl: int | None, is_pl: int) -> bool:
    """Over 5 % is worth a look at the pump; exactly 5 % is not."""
    return change_of_stroke(was_pl, is_pl) > FLAGGED_OVER


def ml_of(pl: int) -> Decimal:
    return Decimal(pl) / PL_PER_ML
