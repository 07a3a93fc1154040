"""``[[processors.baths]]`` of a studio's file: each figure rounded once, here, and kept as it was written.  Pure."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from studiodesk.answers import Refusal
from studiodesk.chemistry.rules.settings import DOSINGS, HAND, MACHINE, MEASURE_PL
from studiodesk.units import MM2_PER_M2, decimal_of, minor_from_major, pl_from_ml, scaled, ul_per_m2_from_ml_per_m2

from . import cells
from .keys import Keys
from .plan import BathPlan

MOST_ML = 10_000_000  # 10 m³ in one tank: 10¹⁶ pL, which leaves room for a thousand turnovers
MOST_RATE = 10_000  # mL/m²
DAY_S = 86_400
_UG = 1_000_000


def _bounded(least: str, most: int) -> Callable[[Any], Decimal]:
    return lambda value: cells.number(value, Decimal(least), most)


# The least of each still is one smallest unit after rounding: a tank, a stroke or a limit of nothing divides by zero.
_volume = _bounded("1", MOST_ML)
_dose = _bounded("0.001", MOST_ML)
_limit_per_l = _bounded("0.000001", 1_000_000)
_days = _bounded("0.0001", 100_000)
_not_negative = _bounded("0", 1_000_000)
_rate = _bounded("0", MOST_RATE)
_percent = _bounded("0", 100)


def _turnovers(value: Any) -> Decimal:
    """A number of turnovers that its column keeps without rounding."""
    cells.number(value, Decimal("0.001"), 100_000)
    return cells.decimal_places(value, 6, 3)


def _smallest_unit(value: Decimal | None, convert: Callable[[Decimal], int]) -> int | None:
    return None if value is None else convert(value)


def read_bath(keys: Keys, digits: int) -> BathPlan:
    """One bath.  ``digits``: the decimals of the studio's currency."""
    code = keys.needed("code", cells.code, "")
    name = keys.needed("name", cells.text, "")
    dosing = keys.needed("dosing", cells.one_of(DOSINGS), "batch")
    volume = keys.needed("volume_ml", _volume, Decimal(1))
    none: Decimal | None = None
    rate = keys.optional("replenish_ml_per_m2", _rate, none)
    stroke = keys.optional("stroke_ml", _dose, none)
    measure = keys.optional("measure_ml", _dose, none)
    if dosing in (MACHINE, HAND) and not keys.has("replenish_ml_per_m2"):
        keys.wrong("replenish_ml_per_m2", Refusal("upkeep.rate_needed", {"dosing": dosing}))
    if dosing == MACHINE and not keys.has("stroke_ml"):
        keys.wrong("stroke_ml", Refusal("upkeep.stroke_needed"))
    idle = keys.optional("idle_percent_per_day", _percent, Decimal(0))
    per_m2 = keys.optional("silver_g_per_m2", _not_negative, none)
    return BathPlan(
        code=code,
        name=name,
        dosing=dosing,
        volume_pl=pl_from_ml(volume),
        rate_ul_per_m2=_smallest_unit(rate, ul_per_m2_from_ml_per_m2),
        unit_pl=_unit(dosing, stroke, measure, keys),
        capacity_mm2_per_l=_smallest_unit(
            keys.optional("capacity_m2_per_l", _limit_per_l, none), lambda value: scaled(value, MM2_PER_M2)
        ),
        turnover_limit=keys.optional("turnover_limit", _turnovers, none),
        age_limit_s=_smallest_unit(keys.optional("age_limit_days", _days, none), lambda value: scaled(value, DAY_S)),
        idle_pl_per_day=scaled(decimal_of(volume) * idle / 100, pl_from_ml(1)),
        silver_ug_per_m2=_smallest_unit(per_m2, lambda value: scaled(value, _UG)),
        silver_limit_ug_per_l=_smallest_unit(
            keys.optional("silver_limit_g_per_l", _limit_per_l, none), lambda value: scaled(value, _UG)
        ),
        low_use_turnovers=keys.optional("low_use_turnovers", _turnovers, none),
        refill_cost_minor=_smallest_unit(
            keys.optional("refill_cost", _not_negative, none), lambda value: minor_from_major(value, digits)
        ),
        replenisher_minor_per_kl=_smallest_unit(
            keys.optional("replenisher_cost_per_l", _not_negative, none),
            lambda value: minor_from_major(value * 1000, digits),
        ),
        as_entered=_written(keys),
    )


def _unit(dosing: str, stroke: Decimal | None, measure: Decimal | None, keys: Keys) -> int | None:
    """One stroke by machine, one measure by hand (50 mL where none is named)."""
    if dosing == MACHINE:
        if measure is not None:
            keys.findings.warn(Refusal("upkeep.not_used", {"dosing": dosing}), column=keys.at("measure_ml"))
        return _smallest_unit(stroke, pl_from_ml)
    if stroke is not None:
        keys.findings.warn(Refusal("upkeep.not_used", {"dosing": dosing}), column=keys.at("stroke_ml"))
    if dosing == HAND:
        return MEASURE_PL if measure is None else pl_from_ml(measure)
    return _smallest_unit(measure, pl_from_ml)


def _written(keys: Keys) -> dict[str, str]:
    """Every figure of the bath as it stands in the file, by its key."""
    return {
        key: str(value).strip()
        for key, value in keys.table.items()
        if key not in ("code", "name", "dosing") and isinstance(value, (str, int, Decimal)) and keys.takes(key)
    }
