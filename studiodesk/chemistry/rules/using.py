"""How much of a bath is used, by each limit that it has.  Pure; fractions of the limit, areas mm², silver µg/L."""

from __future__ import annotations

import math
from datetime import datetime, timedelta

from studiodesk.units import PL_PER_L

from .settings import BathSettings
from .tank import TankState, silver_ug_per_l

NEW, IN_USE, TIRED, SPENT, EMPTY = "new", "in use", "tired", "spent", "empty"
CAPACITY, TURNOVERS, AGE, SILVER, CONDEMNED = "capacity", "turnovers", "age", "silver", "condemned"
TIRED_FROM = 0.8
SEASONED_AT = 3  # turnovers; under it a replenished tank is called new


def room_mm2(state: TankState, settings: BathSettings) -> int | None:
    """What the capacity still takes, whole mm² rounded down: K·V_L − Σ A, never under 0."""
    if not settings.capacity_mm2_per_l:
        return None
    can_do = settings.capacity_mm2_per_l * (settings.volume_pl + state.working_pl) // PL_PER_L
    return max(0, can_do - math.ceil(state.worn_mm2))


def capacity_used(state: TankState, settings: BathSettings) -> float | None:
    """f = Σ A/(K·V_L), V_L with what was topped up with working solution; ``None`` without a capacity."""
    if not settings.capacity_mm2_per_l:
        return None
    can_do = settings.capacity_mm2_per_l * (settings.volume_pl + state.working_pl)
    # a whole number of mm² divides exactly, so that 1 is 1 and not nearly 1
    worn = int(state.worn_mm2) if state.worn_mm2.is_integer() else state.worn_mm2
    return worn * PL_PER_L / can_do


def life_used(state: TankState, settings: BathSettings, at: datetime) -> float | None:
    """Shelf life used: Σ Δt/L over tank (or tray) and marked bottle; ``None`` without a limit or a known refill.

    Where no shelf life of the bottle was entered its time counts like the tank's: that is never too long.
    """
    began = state.age_from or state.since
    if began is None or not settings.age_limit_s:
        return None
    whole = (at - began).total_seconds()
    if not settings.bottle_limit_s:
        return whole / settings.age_limit_s
    bottled = state.bottled_s + ((at - state.bottled_at).total_seconds() if state.bottled_at else 0.0)
    return (whole - bottled) / settings.age_limit_s + bottled / settings.bottle_limit_s


def life_ends(state: TankState, settings: BathSettings) -> datetime | None:
    """When the shelf life is used up if the bath stays where it is; ``None`` without a limit or a known refill."""
    began = state.age_from or state.since
    if began is None or not settings.age_limit_s:
        return None
    tank, bottle = settings.age_limit_s, settings.bottle_limit_s
    if not bottle:
        return began + timedelta(seconds=tank)
    if state.bottled_at is None:
        return began + timedelta(seconds=state.bottled_s + tank * (1 - state.bottled_s / bottle))
    in_tank = (state.bottled_at - began).total_seconds() - state.bottled_s
    left = 1 - in_tank / tank - state.bottled_s / bottle
    return state.bottled_at + timedelta(seconds=bottle * left)


def used_parts(
    settings: BathSettings,
    capacity: float | None,
    turnovers: float | None,
    life: float | None,
    silver: float | None,
    condemned: bool,
) -> dict[str, float]:
    """Each limit that is set, as a fraction of itself.  A limit not entered never binds."""
    parts: dict[str, float] = {}
    if condemned:
        parts[CONDEMNED] = 1.0
    if capacity is not None:
        parts[CAPACITY] = capacity
    if settings.turnover_limit and turnovers is not None:
        parts[TURNOVERS] = turnovers / float(settings.turnover_limit)
    if life is not None:
        parts[AGE] = life
    if settings.silver_limit_ug_per_l and silver is not None:
        parts[SILVER] = silver / settings.silver_limit_ug_per_l
    return parts


def word(used: float, unused: bool, turnovers: float | None) -> str:
    """new · in use · tired · spent.  ``turnovers`` is ``None`` for a bath that is not replenished."""
    if used >= 1:
        return SPENT
    if used >= TIRED_FROM:
        return TIRED
    if unused or (turnovers is not None and turnovers < SEASONED_AT):
        return NEW
    return IN_USE


def silver_settles_at(settings: BathSettings) -> float | None:
    """Where silver settles in a replenished tank, µg/L: σ/r (µg/m² over L/m²); ``None`` if it is not replenished."""
    if not settings.replenished or not settings.silver_ug_per_m2 or not settings.rate_ul_per_m2:
        return None
    return settings.silver_ug_per_m2 * 1_000_000 / settings.rate_ul_per_m2


def silver_now(state: TankState, settings: BathSettings) -> float | None:
    """Silver in the tank, for a bath that takes it up or whose silver was measured."""
    if not settings.bears_silver and state.silver_read_at is None:
        return None
    return silver_ug_per_l(state, settings.volume_pl)
