"""What a tank still takes before each of its limits.  Areas mm², amounts pL, silver µg/L and µg/m².  Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from math import exp

from studiodesk.chemistry.rules.settings import BathSettings
from studiodesk.chemistry.rules.standing import AGE, CAPACITY, SILVER, TURNOVERS, Standing
from studiodesk.units import MM2_PER_M2, PL_PER_L

from .tank_course import area_until, built_up

UL_PER_L = 1_000_000


@dataclass(frozen=True)
class Room:
    """The area until a limit; each idle day takes as much of it as ``idle_mm2`` would."""

    mm2: float
    idle_mm2: float = 0.0


@dataclass(frozen=True)
class Tank:
    """One tank at a moment: what use still may bring, when it is too old, and what it has passed already."""

    rooms: Mapping[str, Room]
    age_ends_at: datetime | None
    passed: str | None
    used: Mapping[str, float]
    standing: Standing
    settings: BathSettings

    @property
    def nearest(self) -> str:
        """The limit that use reaches first, idle days apart; "" if use reaches none."""
        return min(self.rooms, key=lambda name: self.rooms[name].mm2, default="")

    def used_after(self, name: str, area: float) -> float:
        """How much of the limit ``name`` is used (1 is all) after so much more area, idle days counted into it."""
        if name == SILVER and self.settings.replenished and self.settings.rate_ul_per_m2:
            silver = built_up(area / MM2_PER_M2, **_silver(self.standing, self.settings))
            return silver / (self.settings.silver_limit_ug_per_l or 1)
        before = self.used[name]
        room = self.rooms[name].mm2
        if room > 0:
            return before + (1 - before) * area / room
        so_far = self.standing.area_mm2  # behind the limit it goes on as it did before
        return before * (1 + area / so_far) if so_far else before


def tank(line: Standing, settings: BathSettings) -> Tank:
    """From how the bath stands and its settings of that moment; limits that were not entered are not there."""
    passed = max((name for name in line.parts if line.parts[name] >= 1), key=lambda n: line.parts[n], default=None)
    rooms: dict[str, Room] = {}
    if settings.wears and CAPACITY in line.parts and line.room_mm2 is not None:
        rooms[CAPACITY] = Room(line.room_mm2)
    rate = settings.rate_ul_per_m2 if settings.replenished else None
    if TURNOVERS in line.parts and rate and line.turnovers is not None and settings.turnover_limit is not None:
        to_come = (float(settings.turnover_limit) - line.turnovers) * settings.volume_pl
        to_come -= line.outstanding_pl or 0  # what waits will be given too; what was given ahead will not
        rooms[TURNOVERS] = Room(max(0.0, to_come) / rate, settings.idle_pl_per_day / rate)
    if SILVER in line.parts and settings.silver_ug_per_m2 and settings.silver_limit_ug_per_l:
        left = _silver_room(line, settings)
        if left is not None:
            rooms[SILVER] = Room(left)
    return Tank(rooms, line.change_by if AGE in line.parts else None, passed, line.parts, line, settings)


def _silver_room(line: Standing, settings: BathSettings) -> float | None:
    """mm² until the silver limit, None if it is never reached; idle replenishment only puts it off."""
    area = area_until(settings.silver_limit_ug_per_l or 0, **_silver(line, settings))
    return None if area is None else area * MM2_PER_M2


def _silver(line: Standing, settings: BathSettings) -> dict[str, float]:
    """The silver of a tank as its course takes it: µg/L, µg/m², L and L/m²; a batch is not replenished.

    What is due and not yet given by hand washes silver out before the next sheets add to it.
    """
    rate = settings.rate_ul_per_m2 if settings.replenished else 0
    owed = max(0, line.outstanding_pl or 0) if settings.replenished else 0
    return {
        "start": (line.silver_ug_per_l or 0.0) * exp(-owed / settings.volume_pl),
        "made": settings.silver_ug_per_m2 or 0,
        "volume": settings.volume_pl / PL_PER_L,
        "rate": (rate or 0) / UL_PER_L,
    }
