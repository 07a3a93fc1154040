"""One tank of a bath, from mixing in to dumping: what went through it and what it was given.  Pure.

``applied`` is one step, ``fold`` all steps from the start; the running sums that an act keeps and the recount from
the rows are the same code, so they are equal to the last bit.  Areas, amounts and silver brought in are exact
integers; silver in the tank is a float in pg (dilution divides), always computed in the same order.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from studiodesk.timekeeping import day_span, studio_day, whole_days_between
from studiodesk.units import PL_PER_L, due_pl

from .events import (
    Condemned,
    Event,
    Given,
    Lost,
    PartialDump,
    SheetsThrough,
    StripRead,
    Water,
    WorkingSolution,
)
from .settings import MACHINE, SettingsHistory

PG_PER_UG = 1_000_000


@dataclass(frozen=True)
class TankState:
    """The sums of one tank since ``since`` (``None``: no refill is known, everything recorded counts).

    ``given_pl`` is what counts against ``due_pl``: whole strokes by machine, every giving by hand.  ``extra_pl`` is
    given by a person on top of that (turnovers and silver count it, what is outstanding does not).  ``idle_pl`` is
    the part of ``due_pl`` that idle days asked.  ``worn_mm2`` is the area that wears the solution now in the tank
    (a partial dump takes its share away).  ``short_pl`` is how far the tank stands below its level.
    """

    since: datetime | None = None
    idle_from: datetime | None = None  # the last sheets, or the refill
    idle_days: int = 0  # whole days since then that are already counted
    sheets: int = 0
    area_mm2: int = 0
    due_pl: int = 0
    idle_pl: int = 0
    given_pl: int = 0
    extra_pl: int = 0
    water_pl: int = 0
    working_pl: int = 0
    worn_mm2: float = 0.0
    short_pl: int = 0
    silver_in_pg: int = 0
    silver_tank_pg: float = 0.0
    silver_overflow_pg: float = 0.0
    silver_lost_pg: float = 0.0
    silver_dumped_pg: float = 0.0
    silver_corrected_pg: float = 0.0  # what measured strips added (or took) against the reckoning
    silver_read_at: datetime | None = None
    silver_read_ug_per_l: int | None = None  # measured
    silver_reckoned_ug_per_l: float | None = None  # reckoned at that same moment
    condemned_at: datetime | None = None

    @property
    def outstanding_pl(self) -> int:
        return self.due_pl - self.given_pl

    def to_row(self) -> dict[str, int | float | str | None]:
        """As JSON can keep it, without losing a bit: moments as ISO text, floats as they print."""
        row: dict[str, int | float | str | None] = {}
        for field in fields(self):
            value = getattr(self, field.name)
            row[field.name] = value.isoformat() if isinstance(value, datetime) else value
        return row

    @classmethod
    def from_row(cls, row: Mapping[str, Any]) -> TankState:
        """The state that ``to_row`` wrote; a field that an older row lacks takes its beginning value."""
        values: dict[str, Any] = {}
        for field in fields(cls):
            value = row.get(field.name, field.default)
            if isinstance(value, str):
                value = datetime.fromisoformat(value)
            elif field.type == "float" and value is not None:
                value = float(value)  # a database may hand back 1e16 as a whole number
            values[field.name] = value
        return cls(**values)


def begun(since: datetime | None) -> TankState:
    """A tank just filled (or, with ``None``, one of which no filling is known)."""
    return TankState(since=since, idle_from=since)


def fold(since: datetime | None, events: Iterable[Event], history: SettingsHistory, zone: ZoneInfo) -> TankState:
    """The state after ``events``, which stand in time order and all belong to this tank."""
    state = begun(since)
    for event in events:
        state = applied(state, event, history, zone)
    return state


def applied(state: TankState, event: Event, history: SettingsHistory, zone: ZoneInfo) -> TankState:
    """The state after one more event, no earlier than those before it."""
    state = looked_at(state, event.at, history, zone)
    settings = history.at(event.at)
    volume = settings.volume_pl
    match event:
        case SheetsThrough():
            return _sheets_through(state, event, history)
        case Given(pl=pl):
            if settings.replenished and settings.dosing != MACHINE:
                state = replace(state, given_pl=state.given_pl + pl)
            else:
                state = replace(state, extra_pl=state.extra_pl + pl)
            return _poured_in(state, pl, volume)
        case WorkingSolution(pl=pl):
            return _poured_in(replace(state, working_pl=state.working_pl + pl), pl, volume)
        case Water(pl=pl):
            return replace(state, water_pl=state.water_pl + pl)
        case Lost(pl=pl):
            left = volume - state.short_pl
            gone = state.silver_tank_pg * min(1.0, pl / left) if left > 0 else state.silver_tank_pg
            return replace(
                state,
                short_pl=min(volume, state.short_pl + pl),
                silver_tank_pg=state.silver_tank_pg - gone,
                silver_lost_pg=state.silver_lost_pg + gone,
            )
        case PartialDump(pl=pl):
            left = volume - state.short_pl
            gone = state.silver_tank_pg * min(1.0, pl / left) if left > 0 else state.silver_tank_pg
            return replace(
                state,
                short_pl=0,
                worn_mm2=state.worn_mm2 * max(0.0, (volume - pl) / volume),
                silver_tank_pg=state.silver_tank_pg - gone,
                silver_dumped_pg=state.silver_dumped_pg + gone,
            )
        case StripRead(at=at, silver_ug_per_l=int(measured)):
            reckoned = silver_ug_per_l(state, volume)
            in_tank = measured * PG_PER_UG * ((volume - state.short_pl) / PL_PER_L)
            return replace(
                state,
                silver_tank_pg=in_tank,
                silver_corrected_pg=state.silver_corrected_pg + (in_tank - state.silver_tank_pg),
                silver_read_at=at,
                silver_read_ug_per_l=measured,
                silver_reckoned_ug_per_l=reckoned,
            )
        case Condemned(at=at):
            return replace(state, condemned_at=state.condemned_at or at)
        case _:
            return state


def looked_at(state: TankState, at: datetime, history: SettingsHistory, zone: ZoneInfo) -> TankState:
    """The state as it stands at ``at``, no earlier than its last event: idle days since are asked for.

    A whole local day counts if it lies strictly between the last sheets (or the refill) and ``at``, at the amount
    in force when that day ended.  A pump gives its whole strokes for them.
    """
    if not history.ever_idle or state.idle_from is None:
        return state
    last = studio_day(state.idle_from, zone)
    days = whole_days_between(last, studio_day(at, zone))
    if days <= state.idle_days:
        return state
    amount = 0
    for number in range(state.idle_days + 1, days + 1):
        settings = history.at(day_span(last + timedelta(days=number), zone).ends)
        if settings.replenished:
            amount += settings.idle_pl_per_day
    state = replace(state, idle_days=days, idle_pl=state.idle_pl + amount, due_pl=state.due_pl + amount)
    settings = history.at(at)
    if not (settings.replenished and settings.dosing == MACHINE):
        return state
    strokes = max(0, state.outstanding_pl // settings.dose_pl)
    tank, overflow, short = _strokes_in(
        strokes, settings.dose_pl, settings.volume_pl, state.silver_tank_pg, state.silver_overflow_pg, state.short_pl
    )
    return replace(
        state,
        given_pl=state.given_pl + strokes * settings.dose_pl,
        silver_tank_pg=tank,
        silver_overflow_pg=overflow,
        short_pl=short,
    )


def silver_ug_per_l(state: TankState, volume_pl: int) -> float:
    """Silver in the tank now, µg/L (0 for an empty tank)."""
    level = volume_pl - state.short_pl
    return state.silver_tank_pg / PG_PER_UG / (level / PL_PER_L) if level > 0 else 0.0


def _sheets_through(state: TankState, event: SheetsThrough, history: SettingsHistory) -> TankState:
    """Sheet by sheet, so that a line of n sheets and n lines of one sheet are the same to the last bit."""
    area, settings = event.sheet_area_mm2, history.at(event.at)
    if area == 0:
        return replace(state, sheets=state.sheets + event.sheets)
    asked = due_pl(area, settings.rate_ul_per_m2 or 0) if settings.replenished else 0
    brought = area * (settings.silver_ug_per_m2 or 0)  # mm² × µg/m² = pg
    by_machine, dose, volume = settings.replenished and settings.dosing == MACHINE, settings.dose_pl, settings.volume_pl
    due, given, worn = state.due_pl, state.given_pl, state.worn_mm2
    tank, overflow, short = state.silver_tank_pg, state.silver_overflow_pg, state.short_pl
    for _ in range(event.sheets):
        worn += area
        due += asked
        tank += brought
        if by_machine and due - given >= dose:
            strokes = (due - given) // dose
            given += strokes * dose
            tank, overflow, short = _strokes_in(strokes, dose, volume, tank, overflow, short)
    return replace(
        state,
        idle_from=event.at,
        idle_days=0,
        sheets=state.sheets + event.sheets,
        area_mm2=state.area_mm2 + area * event.sheets,
        due_pl=due,
        given_pl=given,
        worn_mm2=worn,
        short_pl=short,
        silver_in_pg=state.silver_in_pg + brought * event.sheets,
        silver_tank_pg=tank,
        silver_overflow_pg=overflow,
    )


def _strokes_in(
    strokes: int, dose: int, volume: int, tank: float, overflow: float, short: int
) -> tuple[float, float, int]:
    """Silver in the tank and over the weir (pg), and how short the tank stands, after whole strokes one by one.

    Each stroke mixes in and then overflows: V/(V+u) stays.  What the level is short of is filled first.
    """
    filling = min(short, strokes * dose)
    short -= filling
    whole, part = divmod(strokes * dose - filling, dose)
    if tank == 0.0:
        return tank, overflow, short
    # log1p keeps its digits for a dose of one pL in a tank of 10¹³
    stays = math.exp(-whole * math.log1p(dose / volume)) * (volume / (volume + part))
    return tank * stays, overflow + (tank - tank * stays), short


def _poured_in(state: TankState, pl: int, volume: int) -> TankState:
    """Poured in at once: fills the level first, the rest mixes and overflows, leaving Ag·V/(V+d)."""
    filling = min(state.short_pl, pl)
    over = pl - filling
    stays = state.silver_tank_pg * (volume / (volume + over))
    return replace(
        state,
        short_pl=state.short_pl - filling,
        silver_tank_pg=stays,
        silver_overflow_pg=state.silver_overflow_pg + (state.silver_tank_pg - stays),
    )
