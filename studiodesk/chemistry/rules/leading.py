"""What the figures of a bath lead to, before they are put in force.  Pure.

Each ``Lead`` is a code with its numbers: volumes pL, areas mm², silver µg/L, lengths of time weeks.  The words are
elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from studiodesk.units import MM2_PER_M2, PL_PER_L

from .settings import BATCH, HAND, MACHINE, BathSettings
from .using import SEASONED_AT, silver_settles_at

WEEK_S = 7 * 86_400
KNOWN_FROM_DAYS = 14  # before that nothing is said of use
FOUR_WEEKS = 4


@dataclass(frozen=True)
class Use:
    """How much paper goes through: ``mm2_per_week``, the mean of the last four weeks, known for ``days`` days."""

    mm2_per_week: float
    days: int

    @property
    def is_known(self) -> bool:
        return self.days >= KNOWN_FROM_DAYS and self.mm2_per_week > 0


@dataclass(frozen=True)
class Lead:
    code: str
    facts: Mapping[str, Any] = field(default_factory=dict)


def leads_to(settings: BathSettings, use: Use, *, sheet_mm2: int | None = None) -> list[Lead]:
    """All that can be said of these figures.  ``sheet_mm2``: the size that is printed most."""
    if not settings.wears:
        return [Lead("no_tank")]
    found = [*_silver(settings, use), *_giving(settings, use, sheet_mm2), *_capacity(settings, use, sheet_mm2)]
    limits = (settings.capacity_mm2_per_l, settings.turnover_limit, settings.age_limit_s)
    if not any(limits) and settings.silver_limit_ug_per_l is None:
        found.append(Lead("no_limit"))
    if not use.is_known:
        found.append(Lead("use_not_known", {"days": KNOWN_FROM_DAYS}))
    return found


def area_to_silver_mm2(settings: BathSettings) -> float | None:
    """How much paper brings a fresh tank to its silver limit, mm²; None if it never comes there or has no limit.

    Replenished: Ag(A) = (σ/r)·(1 − e^(−r·A/V)), so A = −(V/r)·ln(1 − limit·r/σ); not replenished: A = limit·V/σ.
    """
    limit, brings = settings.silver_limit_ug_per_l, settings.silver_ug_per_m2
    if not limit or not brings:
        return None
    litres = settings.volume_pl / PL_PER_L
    if not settings.replenished or not settings.rate_ul_per_m2:
        return limit * litres / brings * MM2_PER_M2
    rate = settings.rate_ul_per_m2 / 1_000_000  # L/m²
    left = 1 - limit * rate / brings
    return None if left <= 0 else -litres / rate * math.log(left) * MM2_PER_M2


def weeks_to_season(settings: BathSettings, use: Use) -> float | None:
    """Weeks of the present use until three turnovers: 3·V/(r·A); None if nothing is known or nothing is given."""
    if not use.is_known or not settings.replenished or not settings.rate_ul_per_m2:
        return None
    return SEASONED_AT * settings.volume_pl / (settings.rate_ul_per_m2 * use.mm2_per_week)


def _silver(settings: BathSettings, use: Use) -> list[Lead]:
    settles, limit = silver_settles_at(settings), settings.silver_limit_ug_per_l
    area = area_to_silver_mm2(settings)
    if settles is not None and limit is None:
        return [Lead("silver_settles", {"settles": settles})]
    if settles is not None and area is None:
        return [Lead("silver_never", {"settles": settles, "limit": limit})]
    if area is None:
        return []
    facts: dict[str, Any] = {"area": area, "limit": limit, "settles": settles}
    if use.is_known:
        facts["weeks"] = area / use.mm2_per_week
    return [Lead("silver_always" if settles is not None else "silver_after", facts)]


def _giving(settings: BathSettings, use: Use, sheet_mm2: int | None) -> list[Lead]:
    """Strokes a sheet, replenisher a week, and whether the tank ever seasons."""
    rate = settings.rate_ul_per_m2
    if not settings.replenished or not rate:
        return []
    found: list[Lead] = []
    dose = settings.dose_pl
    if sheet_mm2 and dose > 1:
        asked = sheet_mm2 * rate
        facts = {
            "sheets": dose / asked,
            "units": asked / dose,
            "unit_pl": dose,
            "by_machine": settings.dosing == MACHINE,
        }
        found.append(Lead("unit_each" if dose >= asked else "units_a_sheet", facts))
    if use.is_known:
        a_week = rate * use.mm2_per_week
        found.append(Lead("a_week", {"pl": a_week, "area": use.mm2_per_week}))
        weeks = weeks_to_season(settings, use) or math.inf
        turnovers = FOUR_WEEKS * a_week / settings.volume_pl
        facts = {"weeks": weeks, "turnovers": turnovers, "area": use.mm2_per_week, "volume_pl": settings.volume_pl}
        too_old = settings.age_limit_s is not None and weeks * WEEK_S > settings.age_limit_s
        needed = settings.low_use_turnovers
        little = needed is not None and turnovers < float(needed)
        found.append(Lead("never_seasons" if too_old or little else "seasons", facts))
    if settings.dosing == HAND and settings.most_at_once_pl and settings.most_at_once_pl < dose:
        found.append(Lead("measure_over_step", {"unit_pl": dose, "most_pl": settings.most_at_once_pl}))
    return found


def _capacity(settings: BathSettings, use: Use, sheet_mm2: int | None) -> list[Lead]:
    """How much a batch takes, and whether its capacity or its shelf life ends first."""
    if not settings.capacity_mm2_per_l:
        return [Lead("batch_without_capacity")] if settings.dosing == BATCH and not settings.age_limit_s else []
    area = settings.capacity_mm2_per_l * settings.volume_pl / PL_PER_L
    facts: dict[str, Any] = {"area": area}
    if sheet_mm2:
        facts["sheets"] = math.floor(area / sheet_mm2)
    found = [Lead("capacity", facts)]
    if use.is_known:
        weeks = area / use.mm2_per_week
        age = settings.age_limit_s / WEEK_S if settings.age_limit_s else None
        code = "age_first" if age is not None and age < weeks else "capacity_first"
        share = min(1.0, age / weeks) if age is not None else 1.0
        found.append(Lead(code, {"weeks": weeks, "age_weeks": age, "used": share}))
    return found
