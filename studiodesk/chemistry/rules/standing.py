"""How a bath stands at a moment: what is due, how much of it is used and what runs out first.  Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from studiodesk.timekeeping import studio_day

from .giving import Giving, giving
from .settings import SettingsHistory
from .tank import TankState, looked_at
from .using import (
    AGE,
    CAPACITY,
    CONDEMNED,
    EMPTY,
    IN_USE,
    NEW,
    SEASONED_AT,
    SILVER,
    SPENT,
    TIRED,
    TIRED_FROM,
    TURNOVERS,
    capacity_used,
    life_ends,
    life_used,
    room_mm2,
    silver_now,
    silver_settles_at,
    used_parts,
    word,
)

__all__ = [
    "AGE",
    "CAPACITY",
    "CONDEMNED",
    "EMPTY",
    "IN_USE",
    "NEW",
    "SEASONED_AT",
    "SILVER",
    "SPENT",
    "TIRED",
    "TIRED_FROM",
    "TURNOVERS",
    "BathName",
    "Standing",
    "capacity_used",
    "silver_settles_at",
    "standing",
]

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
    change_by: datetime | None = None  # when the shelf life ends; None without one or a known refill
    age_from: datetime | None = None  # since when the shelf life counts, where that is not ``since``
    rotation: int = 0
    bottled_at: datetime | None = None
    contaminated_at: datetime | None = None
    dumped_at: datetime | None = None
    overflow_pl: int = 0
    start_up_pl: int = 0
    level_pl: int = 0
    has_weir: bool = True
    most_at_once_pl: int | None = None
    room_mm2: int | None = None  # what the capacity still takes; None without one
    change_in_days: int | None = None  # local days from ``at`` to ``change_by``
    dumped_at_closing: bool = False

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
    def giving(self) -> Giving | None:
        """How what waits is given by hand; None if nothing does."""
        if not self.strokes_due or not self.unit_pl:
            return None
        short = max(0, self.volume_pl - self.level_pl)
        return giving(
            self.strokes_due,
            self.unit_pl,
            short_pl=short,
            has_weir=self.has_weir,
            most_at_once_pl=self.most_at_once_pl,
        )

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
    def is_empty(self) -> bool:
        """Poured away, and not yet filled again."""
        return self.word == EMPTY


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
        settings = replace(settings, capacity_mm2_per_l=None, age_limit_s=None, silver_ug_per_m2=None, by_paper={})
    outstanding = strokes = remainder = turnovers = None
    if settings.replenished:
        outstanding = state.outstanding_pl
        strokes = max(0, outstanding // settings.dose_pl)
        remainder = outstanding - strokes * settings.dose_pl
        turnovers = (state.given_pl + state.extra_pl) / settings.volume_pl
    age = (at - (state.age_from or state.since)).total_seconds() if state.since else None
    change_by = life_ends(state, settings)
    silver = silver_now(state, settings)
    capacity = capacity_used(state, settings)
    life = life_used(state, settings, at)
    parts = used_parts(settings, capacity, turnovers, life, silver, state.condemned_at is not None)
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
        word=EMPTY if state.dumped_at else word(used, state.area_mm2 == 0, turnovers),
        limit=max(parts, key=lambda name: parts[name]) if parts else None,
        parts=parts,
        alerts=alerts,
        room_mm2=room_mm2(state, settings),
        change_in_days=(studio_day(change_by, zone) - studio_day(at, zone)).days if change_by else None,
        change_by=change_by,
        age_from=state.age_from,
        rotation=state.rotation,
        bottled_at=state.bottled_at,
        contaminated_at=state.contaminated_at,
        dumped_at=state.dumped_at,
        overflow_pl=state.overflow_pl,
        start_up_pl=state.start_up_pl,
        level_pl=settings.volume_pl - state.short_pl,
        has_weir=settings.has_weir,
        most_at_once_pl=settings.most_at_once_pl,
        dumped_at_closing=settings.dumped_at_closing,
    )
