"""One tank of a bath, from mixing in to dumping: what went through it and what it was given.  Pure.

``applied`` is one step, ``fold`` all steps from the start; the running sums that an act keeps and the recount from
the rows are the same code, so they are equal to the last bit.  Areas, amounts and silver brought in are exact
integers; silver in the tank is a float in pg (dilution divides), always computed in the same order.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from studiodesk.timekeeping import day_span, studio_day, whole_days_between
from studiodesk.units import PL_PER_L, due_pl

from .events import (
    Condemned,
    Contaminated,
    Dumped,
    Event,
    Given,
    IntoBottle,
    Lost,
    OutOfBottle,
    PartialDump,
    SheetsThrough,
    StartUp,
    StripRead,
    Water,
    WorkingSolution,
)
from .settings import MACHINE, BathSettings, SettingsHistory
from .tank_state import Filling, TankState, begun

__all__ = ["Filling", "TankState", "applied", "begun", "fold", "looked_at", "silver_ug_per_l"]

PG_PER_UG = 1_000_000


def fold(
    since: datetime | Filling | None, events: Iterable[Event], history: SettingsHistory, zone: ZoneInfo
) -> TankState:
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
        case Given(pl=pl, drawn_pl=drawn):
            if drawn:
                state = _drawn_off(state, drawn, volume)
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
                dumped_pl=state.dumped_pl + min(pl, left),
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
        case Contaminated(at=at):
            return replace(state, contaminated_at=state.contaminated_at or at)
        case StartUp(pl=pl):
            if not settings.replenished:
                return state
            asked = replace(state, start_up_pl=state.start_up_pl + pl, due_pl=state.due_pl + pl)
            return _strokes_given(asked, settings)
        case IntoBottle(at=at):
            return replace(state, bottled_at=state.bottled_at or at)
        case OutOfBottle(at=at):
            return _out_of_bottle(state, at)
        case Dumped(at=at):
            return replace(
                _out_of_bottle(state, at),
                dumped_at=state.dumped_at or at,
                dumped_pl=state.dumped_pl + volume - state.short_pl,
                short_pl=volume,
                silver_tank_pg=0.0,
                silver_dumped_pg=state.silver_dumped_pg + state.silver_tank_pg,
            )
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
    return _strokes_given(state, history.at(at))


def silver_ug_per_l(state: TankState, volume_pl: int) -> float:
    """Silver in the tank now, µg/L (0 for an empty tank)."""
    level = volume_pl - state.short_pl
    return state.silver_tank_pg / PG_PER_UG / (level / PL_PER_L) if level > 0 else 0.0


def _sheets_through(state: TankState, event: SheetsThrough, history: SettingsHistory) -> TankState:
    """Sheet by sheet, so that a line of n sheets and n lines of one sheet are the same to the last bit."""
    area, settings = event.sheet_area_mm2, history.at(event.at)
    if area == 0:
        return replace(state, sheets=state.sheets + event.sheets)
    figures = settings.of_paper(event.paper)
    asked = due_pl(area, figures.rate_ul_per_m2 or 0) if settings.replenished else 0
    brought = area * (figures.silver_ug_per_m2 or 0)  # mm² × µg/m² = pg
    wears = _worn_by(area, settings, figures.capacity_mm2_per_l)
    by_machine, dose, volume = settings.replenished and settings.dosing == MACHINE, settings.dose_pl, settings.volume_pl
    due, given, worn = state.due_pl, state.given_pl, state.worn_mm2
    tank, overflow, short = state.silver_tank_pg, state.silver_overflow_pg, state.short_pl
    over_pl = state.overflow_pl
    for _ in range(event.sheets):
        worn += wears
        due += asked
        tank += brought
        if by_machine and due - given >= dose:
            strokes = (due - given) // dose
            given += strokes * dose
            over_pl += max(0, strokes * dose - short)
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
        overflow_pl=over_pl,
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
        overflow_pl=state.overflow_pl + over,
        silver_tank_pg=stays,
        silver_overflow_pg=state.silver_overflow_pg + (state.silver_tank_pg - stays),
    )


def _strokes_given(state: TankState, settings: BathSettings) -> TankState:
    """A pump gives its whole strokes for what is due; by hand they wait for a person."""
    if not (settings.replenished and settings.dosing == MACHINE):
        return state
    strokes = max(0, state.outstanding_pl // settings.dose_pl)
    given = strokes * settings.dose_pl
    tank, overflow, short = _strokes_in(
        strokes, settings.dose_pl, settings.volume_pl, state.silver_tank_pg, state.silver_overflow_pg, state.short_pl
    )
    return replace(
        state,
        given_pl=state.given_pl + given,
        overflow_pl=state.overflow_pl + max(0, given - state.short_pl),
        silver_tank_pg=tank,
        silver_overflow_pg=overflow,
        short_pl=short,
    )


def _drawn_off(state: TankState, pl: int, volume: int) -> TankState:
    """Taken out before anything goes in: its share of the silver goes with it, and the level is that much lower."""
    left = volume - state.short_pl
    out = min(pl, left)
    gone = state.silver_tank_pg * (out / left) if left > 0 else 0.0
    return replace(
        state,
        short_pl=state.short_pl + out,
        overflow_pl=state.overflow_pl + out,
        silver_tank_pg=state.silver_tank_pg - gone,
        silver_overflow_pg=state.silver_overflow_pg + gone,
    )


def _out_of_bottle(state: TankState, at: datetime) -> TankState:
    if state.bottled_at is None:
        return state
    spent = int((at - state.bottled_at).total_seconds())
    return replace(state, bottled_s=state.bottled_s + spent, bottled_at=None)


def _worn_by(area_mm2: int, settings: BathSettings, capacity_mm2_per_l: int | None) -> int | float:
    """What a sheet counts against the bath's own capacity: A·K/K_type, so that ΣA/(K_type·V) is Σ of it over K·V."""
    own = settings.capacity_mm2_per_l
    if not own or not capacity_mm2_per_l or capacity_mm2_per_l == own:
        return area_mm2
    return area_mm2 * own / capacity_mm2_per_l
