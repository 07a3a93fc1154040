"""How a bath stands at a moment: what is due, how much of it is used and what runs out first.  Pure."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from studiodesk.timekeeping import studio_day
from studiodesk.units import PL_PER_L

from .settings import BathSettings, SettingsHistory
from .tank import TankState, looked_at, silver_ug_per_l

NEW, IN_USE, TIRED, SPENT = "new", "in use", "tired", "spent"
CAPACITY, TURNOVERS, AGE, SILVER, CONDEMNED = "capacity", "turnovers", "age", "silver", "condemned"
TIRED_FROM = 0.8
SEASONED_AT = 3  # turnovers; under it a replenished tank is called new
DAY_S = 86_400
SOON = timedelta(hours=48)  # so near to its end a bath's hour is said, not only the day


def grams(micrograms: float | None) -> float | None:
    """µg as g, or µg/L as g/L."""
    return None if micrograms is None else micrograms / 1_000_000


@dataclass(frozen=True)
class BathName:
    """Which bath it is, in codes and names, so that a line can be drawn without asking anything more."""

    processor: str
    bath: str
    process: str
    processor_name: str = ""
    name: str = ""
    process_name: str = ""
    position: int = 0
    pk: int | None = None


@dataclass(frozen=True)
class Standing:
    """One bath's line on the board.  ``None`` is "does not apply" or "not known".

    Amounts pL, areas mm², silver µg/L, ``used`` and ``parts`` as fractions (1 is the limit).  ``limit`` names the
    greatest part; ``alerts`` are the kinds that stand open.
    """

    of: BathName
    at: datetime
    dosing: str
    volume_pl: int
    since: datetime | None
    sheets: int
    area_mm2: int
    due_pl: int | None
    idle_pl: int | None
    given_pl: int | None
    extra_pl: int
    water_pl: int
    working_pl: int
    outstanding_pl: int | None
    unit_pl: int | None
    strokes_due: int | None
    remainder_pl: int | None
    turnovers: float | None
    capacity_used: float | None
    age_s: float | None
    age_limit_s: int | None
    silver_ug_per_l: float | None
    silver_read_at: datetime | None
    silver_read_ug_per_l: int | None
    silver_reckoned_ug_per_l: float | None
    silver_limit_ug_per_l: int | None
    silver_settles_at_ug_per_l: float | None
    used: float
    word: str
    limit: str | None
    parts: Mapping[str, float] = field(default_factory=dict)
    alerts: tuple[str, ...] = ()
    room_mm2: int | None = None  # what the capacity still takes; None without one
    change_in_days: int | None = None  # local days from ``at`` to ``change_by``

    @property
    def processor(self) -> str:
        return self.of.processor

    @property
    def bath(self) -> str:
        return self.of.bath

    @property
    def name(self) -> str:
        return self.of.name

    @property
    def replenishment_due(self) -> bool:
        """At least one whole stroke or measure waits to be given by a person."""
        return bool(self.strokes_due)

    @property
    def too_much_given_pl(self) -> int:
        """What was given beyond what was due: the next sheets ask that much less."""
        return max(0, -(self.outstanding_pl or 0))

    @property
    def not_yet_seasoned(self) -> bool:
        """A replenished tank under three turnovers."""
        return self.turnovers is not None and self.turnovers < SEASONED_AT

    @property
    def change_soon(self) -> bool:
        """The age limit is less than 48 hours away, or behind."""
        return self.change_by is not None and self.change_by - self.at < SOON

    @property
    def silver_settles_below(self) -> bool:
        """Silver settles at its limit or under it: it is never passed, however near it stands."""
        settles, limit = self.silver_settles_at_ug_per_l, self.silver_limit_ug_per_l
        return settles is not None and limit is not None and settles <= limit

    @property
    def nears_its_end(self) -> bool:
        """Tired by something that will be reached: not by silver that settles below its limit."""
        ending = (part for name, part in self.parts.items() if name != SILVER or not self.silver_settles_below)
        return max(ending, default=0.0) >= TIRED_FROM

    @property
    def silver_g_per_l(self) -> float | None:
        return grams(self.silver_ug_per_l)

    @property
    def silver_read_g_per_l(self) -> float | None:
        return grams(self.silver_read_ug_per_l)

    @property
    def silver_reckoned_g_per_l(self) -> float | None:
        return grams(self.silver_reckoned_ug_per_l)

    @property
    def silver_limit_g_per_l(self) -> float | None:
        return grams(self.silver_limit_ug_per_l)

    @property
    def silver_settles_at_g_per_l(self) -> float | None:
        return grams(self.silver_settles_at_ug_per_l)

    @property
    def change_by(self) -> datetime | None:
        """When the age limit is reached; ``None`` without a limit or a known refill."""
        if self.since is None or self.age_limit_s is None:
            return None
        return self.since + timedelta(seconds=self.age_limit_s)


def standing(
    of: BathName,
    state: TankState,
    history: SettingsHistory,
    at: datetime,
    zone: ZoneInfo,
    alerts: tuple[str, ...] = (),
) -> Standing:
    """The bath as it stands at ``at``: the sums after its last event, idle days since, against today's limits."""
    settings = history.at(at)
    state = looked_at(state, at, history, zone)
    if not settings.wears:
        # Whatever was entered: these limits speak of a tank that stays.
        settings = replace(settings, capacity_mm2_per_l=None, age_limit_s=None, silver_ug_per_m2=None)
    outstanding = strokes = remainder = turnovers = None
    if settings.replenished:
        outstanding = state.outstanding_pl
        strokes = max(0, outstanding // settings.dose_pl)
        remainder = outstanding - strokes * settings.dose_pl
        turnovers = (state.given_pl + state.extra_pl) / settings.volume_pl
    age = (at - state.since).total_seconds() if state.since else None
    silver = _silver(state, settings)
    capacity = capacity_used(state, settings)
    parts = used_parts(settings, capacity, turnovers, age, silver, state.condemned_at is not None)
    used = max(parts.values(), default=0.0)
    return Standing(
        of=of,
        at=at,
        dosing=settings.dosing,
        volume_pl=settings.volume_pl,
        since=state.since,
        sheets=state.sheets,
        area_mm2=state.area_mm2,
        due_pl=state.due_pl if settings.replenished else None,
        idle_pl=state.idle_pl if settings.replenished else None,
        given_pl=state.given_pl if settings.replenished else None,
        extra_pl=state.extra_pl,
        water_pl=state.water_pl,
        working_pl=state.working_pl,
        outstanding_pl=outstanding,
        unit_pl=settings.dose_pl if settings.replenished else None,
        strokes_due=strokes,
        remainder_pl=remainder,
        turnovers=turnovers,
        capacity_used=capacity,
        age_s=age,
        age_limit_s=settings.age_limit_s,
        silver_ug_per_l=silver,
        silver_read_at=state.silver_read_at,
        silver_read_ug_per_l=state.silver_read_ug_per_l,
        silver_reckoned_ug_per_l=state.silver_reckoned_ug_per_l,
        silver_limit_ug_per_l=settings.silver_limit_ug_per_l,
        silver_settles_at_ug_per_l=silver_settles_at(settings),
        used=used,
        word=word(used, state.area_mm2 == 0, turnovers),
        limit=max(parts, key=lambda name: parts[name]) if parts else None,
        parts=parts,
        alerts=alerts,
        room_mm2=room_mm2(state, settings),
        change_in_days=_days_left(state, settings, at, zone),
    )


def _days_left(state: TankState, settings: BathSettings, at: datetime, zone: ZoneInfo) -> int | None:
    if state.since is None or settings.age_limit_s is None:
        return None
    end = state.since + timedelta(seconds=settings.age_limit_s)
    return (studio_day(end, zone) - studio_day(at, zone)).days


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


def used_parts(
    settings: BathSettings,
    capacity: float | None,
    turnovers: float | None,
    age_s: float | None,
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
    if settings.age_limit_s and age_s is not None:
        parts[AGE] = age_s / settings.age_limit_s
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


def _silver(state: TankState, settings: BathSettings) -> float | None:
    """Silver in the tank, for a bath that takes it up or whose silver was measured."""
    if settings.silver_ug_per_m2 is None and state.silver_read_at is None:
        return None
    return silver_ug_per_l(state, settings.volume_pl)
