"""A studio as its file describes it: frozen values, checked, not yet in any database.  Pure.

Lengths mm, volumes pL, rates µL/m², capacities mm²/L, silver µg, ages s, money in minor units (see ``units``).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from studiodesk.stations.rules import Shut


@dataclass(frozen=True)
class StudioPlan:
    name: str
    time_zone: str
    currency: str
    currency_digits: int
    grid_minutes: int = 15
    heads_at_once: int | None = None
    opens_by_shifts: bool = False
    #: what a file says nothing of stays as the house's own page has it
    language: str | None = None
    clock: str | None = None
    units: str | None = None


@dataclass(frozen=True)
class ProcessPlan:
    code: str
    name: str
    light: str
    paper: str = ""
    material: str = "paper"


@dataclass(frozen=True)
class BathPlan:
    """``as_entered`` keeps every figure as it was written, by its key in the file."""

    code: str
    name: str
    dosing: str
    volume_pl: int
    as_entered: Mapping[str, str]
    rate_ul_per_m2: int | None = None
    unit_pl: int | None = None
    capacity_mm2_per_l: int | None = None
    turnover_limit: Decimal | None = None
    age_limit_s: int | None = None
    idle_pl_per_day: int = 0
    silver_ug_per_m2: int | None = None
    silver_limit_ug_per_l: int | None = None
    low_use_turnovers: Decimal | None = None
    refill_cost_minor: int | None = None
    replenisher_minor_per_kl: int | None = None


@dataclass(frozen=True)
class ProcessorPlan:
    code: str
    name: str
    process: str
    feed_width_mm: int
    booths_at_once: int
    baths: tuple[BathPlan, ...] = ()
    shortest_feed_mm: int = 0
    warm_up_minutes: int = 0
    dry_to_dry_minutes: int = 0
    closing_down_minutes: int = 0
    bath_change_minutes: int = 120
    needs: tuple[str, ...] = ()


@dataclass(frozen=True)
class StationPlan:
    """``zone_name`` "" is a station that shares its light with nobody."""

    code: str
    name: str
    kind: str
    processes: tuple[str, ...] = ()
    formats: tuple[str, ...] = ()
    light_source: str = ""
    zone_name: str = ""
    largest_print_mm: int | tuple[int, int] | None = None
    set_up_minutes: int = 0
    clear_up_minutes: int = 0
    needs: tuple[str, ...] = ()
    step_free: bool = False
    bench_height_mm: int | None = None
    colour_filters: bool = False
    heads_at_most: int | None = None


@dataclass(frozen=True)
class KitPlan:
    """``kinds`` of station and ``processes`` it goes with, by code; none: with any."""

    code: str
    name: str
    sort: str
    pieces: int
    kinds: tuple[str, ...] = ()
    processes: tuple[str, ...] = ()
    from_end_minutes: int | None = None
    outlasts_minutes: int = 0


@dataclass(frozen=True)
class RoomPlan:
    """A room whose light stations share; ``heads_at_most`` None is "no figure"."""

    name: str
    heads_at_most: int | None = None


@dataclass(frozen=True)
class SheetPlan:
    code: str
    name: str
    width_mm: int
    length_mm: int
    inches: str = ""
    centimetres: str = ""


@dataclass(frozen=True)
class MembershipPlanPlan:
    code: str
    name: str
    is_day_pass: bool = False


@dataclass(frozen=True)
class HouseRulePlan:
    """``value`` None is "no limit"; ``plan`` None is everybody."""

    code: str
    value: int | None
    plan: str | None
    in_force_from: date


@dataclass(frozen=True)
class SignOffPlan:
    """What needs a sign-off: a ``kind`` of station or a ``process`` by its code, the other is ""."""

    kind: str
    process: str
    lasts_days: int | None = None


@dataclass(frozen=True)
class OutlineNeedPlan:
    """Stations of a ``kind``, or without one places at a processor of ``process``; None: as many as the heads need.

    Of a processor 0 is all its places.
    """

    kind: str
    process: str
    number: int | None = None


@dataclass(frozen=True)
class OutlinePaperPlan:
    width_mm: int
    length_mm: int
    sheets_a_head: int


@dataclass(frozen=True)
class OutlinePlan:
    """``tutor_needs`` and ``signs_off``: (kind, process) of sign-offs, one of the two is "".

    ``member_price_minor`` None is the same as everybody's, ``decide_days`` None is decided by staff.
    """

    code: str
    name: str
    length_minutes: int
    heads_most: int
    sort: str = "class"
    summary: str = ""
    level: str = "no experience"
    meetings: int = 1
    before_minutes: int = 0
    after_minutes: int = 0
    heads_least: int = 1
    heads_a_station: int = 1
    minimum_age: int | None = None
    price_minor: int = 0
    member_price_minor: int | None = None
    free_cancel_days: int = 7
    decide_days: int | None = None
    materials: str = ""
    bring: str = ""
    process: str = ""
    needs: tuple[OutlineNeedPlan, ...] = ()
    papers: tuple[OutlinePaperPlan, ...] = ()
    tutor_needs: tuple[tuple[str, str], ...] = ()
    signs_off: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Plan:
    """``week``: weekday (0 is Monday) → (opens, closes) in minutes after local midnight, none over midnight."""

    studio: StudioPlan
    week: Mapping[int, tuple[tuple[int, int], ...]]
    closures: tuple[Shut, ...]
    processes: tuple[ProcessPlan, ...]
    processors: tuple[ProcessorPlan, ...]
    stations: tuple[StationPlan, ...]
    sheet_sizes: tuple[SheetPlan, ...]
    membership_plans: tuple[MembershipPlanPlan, ...] = ()
    house_rules: tuple[HouseRulePlan, ...] = ()
    sign_offs: tuple[SignOffPlan, ...] = ()
    kit: tuple[KitPlan, ...] = ()
    rooms: tuple[RoomPlan, ...] = ()
    outlines: tuple[OutlinePlan, ...] = ()
