"""A bath's settings and how they change in time.  Pure.

Every figure is the studio's own: nothing here is a default taken from any maker.  Volumes are pL, rates µL/m²,
capacities mm² per litre, ages seconds, silver µg/m² and µg/L; ``None`` means "not set", and what is not set never
binds.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal

from studiodesk.units import PL_PER_ML

MACHINE, HAND, BATCH, ONE_SHOT, RUNNING_WATER = "machine", "hand", "batch", "one-shot", "running water"
DOSINGS = (MACHINE, HAND, BATCH, ONE_SHOT, RUNNING_WATER)
MEASURE_PL = 50 * PL_PER_ML  # what "a measure" is where a bath dosed by hand names no other


@dataclass(frozen=True)
class PaperFigures:
    """What one class of paper asks of a bath and does to it: µL/m², mm² per litre, µg/m²."""

    rate_ul_per_m2: int | None = None
    capacity_mm2_per_l: int | None = None
    silver_ug_per_m2: int | None = None


@dataclass(frozen=True)
class BathSettings:
    """What was entered for a bath, valid from one moment to the next version.

    ``unit_pl`` is the pump's stroke (by machine) or the measure (by hand); ``idle_pl_per_day`` the oxidation
    amount of one idle day for the whole tank; ``start_up_pl`` what each opening of the processor asks.  ``by_paper``
    has the figures of the classes of paper that differ from the bath's own; what such a row leaves out is the bath's.
    ``age_limit_s`` counts in tank or tray, ``bottle_limit_s`` in the marked bottle.
    """

    volume_pl: int
    dosing: str
    rate_ul_per_m2: int | None = None
    unit_pl: int | None = None
    capacity_mm2_per_l: int | None = None
    turnover_limit: Decimal | None = None
    age_limit_s: int | None = None
    idle_pl_per_day: int = 0
    silver_ug_per_m2: int | None = None
    silver_limit_ug_per_l: int | None = None
    low_use_turnovers: Decimal | None = None  # in four weeks
    by_paper: Mapping[str, PaperFigures] = field(default_factory=dict)
    has_weir: bool = True
    most_at_once_pl: int | None = None
    start_up_pl: int = 0
    evaporation_pl_per_day: int | None = None
    bottle_limit_s: int | None = None
    dumped_at_closing: bool = False
    rotations_limit: int | None = None

    def __post_init__(self) -> None:
        if self.volume_pl <= 0:
            raise ValueError("a bath has a volume")
        if self.dosing not in DOSINGS:
            raise ValueError(f"unknown way of dosing {self.dosing!r}")

    @property
    def replenished(self) -> bool:
        """True if sheets (or idle days) ask this bath for replenisher."""
        return self.dosing in (MACHINE, HAND) and (
            self.rate_ul_per_m2 is not None
            or self.idle_pl_per_day > 0
            or self.start_up_pl > 0
            or any(figures.rate_ul_per_m2 is not None for figures in self.by_paper.values())
        )

    @property
    def wears(self) -> bool:
        """True if there is a tank that wears out: running water flows away, and a one-shot mix is used once."""
        return self.dosing not in (ONE_SHOT, RUNNING_WATER)

    def of_paper(self, paper: str) -> PaperFigures:
        """The figures for a class of paper: its own where it has any, the bath's for the rest."""
        own = self.by_paper.get(paper) if paper else None
        rate, capacity, silver = self.rate_ul_per_m2, self.capacity_mm2_per_l, self.silver_ug_per_m2
        if own is None:
            return PaperFigures(rate, capacity, silver)
        return PaperFigures(
            rate if own.rate_ul_per_m2 is None else own.rate_ul_per_m2,
            capacity if own.capacity_mm2_per_l is None else own.capacity_mm2_per_l,
            silver if own.silver_ug_per_m2 is None else own.silver_ug_per_m2,
        )

    @property
    def bears_silver(self) -> bool:
        """True if some paper brings silver into this bath."""
        return self.silver_ug_per_m2 is not None or any(
            figures.silver_ug_per_m2 is not None for figures in self.by_paper.values()
        )

    @property
    def dose_pl(self) -> int:
        """The whole unit that is given at a time.  A pump with no stroke entered gives exactly what is due."""
        if self.unit_pl:
            return self.unit_pl
        return 1 if self.dosing == MACHINE else MEASURE_PL


class SettingsHistory:
    """The versions of one bath's settings: ``at(moment)`` answers the one in force then.

    Before the first version the first one answers: what was recorded earlier is counted with what is known.
    Raises ``ValueError`` without a version.
    """

    def __init__(self, versions: Iterable[tuple[datetime, BathSettings]]) -> None:
        ordered = sorted(versions, key=lambda version: version[0])
        if not ordered:
            raise ValueError("a bath has at least one version of its settings")
        self._from = [since for since, _ in ordered]
        self._settings = [settings for _, settings in ordered]
        self.ever_idle = any(settings.idle_pl_per_day for settings in self._settings)

    @classmethod
    def always(cls, settings: BathSettings) -> SettingsHistory:
        """One version for all time, for a bath whose figures never changed."""
        return cls([(datetime.min, settings)])

    def at(self, moment: datetime) -> BathSettings:
        if len(self._settings) == 1:
            return self._settings[0]
        return self._settings[max(0, bisect_right(self._from, moment) - 1)]
