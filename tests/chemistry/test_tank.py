"""The sums of one tank: exactness, splitting, balance, idle days, and what each event does."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiodesk.chemistry.rules.events import (
    Condemned,
    Given,
    Lost,
    Note,
    PartialDump,
    SheetsThrough,
    StripRead,
    Water,
    WorkingSolution,
)
from studiodesk.chemistry.rules.settings import BathSettings, SettingsHistory
from studiodesk.chemistry.rules.tank import PG_PER_UG, TankState, applied, begun, fold, looked_at, silver_ug_per_l
from studiodesk.units import PL_PER_L, PL_PER_ML

ZONE = ZoneInfo("Europe/Amsterdam")
T0 = datetime(2026, 3, 2, 8, tzinfo=UTC)
MACHINE = BathSettings(
    9 * PL_PER_L, "machine", rate_ul_per_m2=500_000, unit_pl=12 * PL_PER_ML, silver_ug_per_m2=950_000
)
HAND = replace(MACHINE, dosing="hand", unit_pl=50 * PL_PER_ML)
BATCH = BathSettings(3 * PL_PER_L, "batch", capacity_mm2_per_l=1_600_000, silver_ug_per_m2=650_000)

areas = st.sampled_from([50 * 203, 127 * 178, 203 * 254, 406 * 508, 0])
amounts = st.integers(min_value=1, max_value=700 * PL_PER_ML)
baths = st.sampled_from([MACHINE, HAND, BATCH, replace(MACHINE, unit_pl=None), replace(HAND, idle_pl_per_day=77)])


@st.composite
def histories_of_events(draw):
    at, events = T0, []
    for _ in range(draw(st.integers(0, 12))):
        at += timedelta(minutes=draw(st.integers(0, 5000)))
        kind = draw(st.integers(0, 8))
        if kind <= 3:
            events.append(SheetsThrough(at, draw(areas), draw(st.integers(1, 9))))
        elif kind == 8:
            events.append(StripRead(at, draw(st.one_of(st.none(), st.integers(0, 8_000_000)))))
        else:
            what = [Given, WorkingSolution, Lost, PartialDump][kind - 4]
            events.append(what(at, draw(amounts)))
    return events


def at_once(bath, *events, since=T0):
    return fold(since, events, SettingsHistory.always(bath), ZONE)


@given(events=histories_of_events(), bath=baths)
def test_a_line_of_n_sheets_is_n_lines_of_one_sheet(events, bath):
    split = [
        piece
        for event in events
        for piece in ([replace(event, sheets=1)] * event.sheets if isinstance(event, SheetsThrough) else [event])
    ]
    assert at_once(bath, *split) == at_once(bath, *events)


@given(events=histories_of_events(), bath=baths)
def test_no_silver_is_made_or_lost(events, bath):
    state = at_once(bath, *events)
    accounted = (
        state.silver_tank_pg + state.silver_overflow_pg + state.silver_lost_pg + state.silver_dumped_pg
    ) - state.silver_corrected_pg
    brought = sum(
        event.sheet_area_mm2 * event.sheets * bath.silver_ug_per_m2
        for event in events
        if isinstance(event, SheetsThrough)
    )
    assert state.silver_in_pg == brought
    assert accounted == pytest.approx(brought, rel=1e-9, abs=10.0 * PG_PER_UG)
    assert state.silver_tank_pg >= 0


@given(events=histories_of_events(), bath=baths)
def test_the_state_comes_back_from_its_row_to_the_last_bit(events, bath):
    state = at_once(bath, *events)
    assert TankState.from_row(state.to_row()) == state


@given(events=histories_of_events())
def test_by_machine_less_than_a_stroke_is_ever_outstanding(events):
    state = begun(T0)
    for event in events:
        state = applied(state, event, SettingsHistory.always(MACHINE), ZONE)
        assert 0 <= state.outstanding_pl < MACHINE.unit_pl
        assert state.given_pl % MACHINE.unit_pl == 0


@settings(max_examples=50)
@given(
    lines=st.lists(st.tuples(areas, st.integers(1, 9)), max_size=8),
    givings=st.lists(amounts, max_size=5),
    data=st.data(),
)
def test_by_hand_nothing_is_lost_in_any_order_of_givings(lines, givings, data):
    events = [SheetsThrough(T0, area, sheets) for area, sheets in lines] + [Given(T0, pl) for pl in givings]
    state = at_once(HAND, *data.draw(st.permutations(events)))
    due = sum(Fraction(area * sheets * HAND.rate_ul_per_m2) for area, sheets in lines)
    assert state.outstanding_pl == due - sum(givings)


def test_a_recalibrated_pump_keeps_what_was_given_and_carries_on():
    history = SettingsHistory([(T0, MACHINE), (T0 + timedelta(days=1), replace(MACHINE, unit_pl=10 * PL_PER_ML))])
    sheet = 203 * 254
    first = fold(T0, [SheetsThrough(T0, sheet, 1)], history, ZONE)
    assert (first.given_pl, first.outstanding_pl) == (24 * PL_PER_ML, 25_781_000_000 - 24 * PL_PER_ML)
    second = applied(first, SheetsThrough(T0 + timedelta(days=1), sheet, 1), history, ZONE)
    # 51.562 mL are due, 24 were given: two strokes of 10 more
    assert second.given_pl == 44 * PL_PER_ML
    assert second.outstanding_pl == 51_562_000_000 - 44 * PL_PER_ML


def test_a_pump_without_a_stroke_gives_exactly_what_is_due():
    state = at_once(replace(MACHINE, unit_pl=None), SheetsThrough(T0, 203 * 254, 3))
    assert state.given_pl == state.due_pl == 3 * 203 * 254 * 500_000


def test_a_rate_holds_for_the_sheets_of_its_time():
    history = SettingsHistory([(T0, HAND), (T0 + timedelta(days=2), replace(HAND, rate_ul_per_m2=600_000))])
    events = [SheetsThrough(T0 + timedelta(days=d), 1_000_000, 1) for d in (1, 2, 3)]
    assert fold(T0, events, history, ZONE).due_pl == (500_000 + 600_000 + 600_000) * 1_000_000


def test_what_a_person_gives_to_a_machine_dosed_bath_is_extra():
    before = at_once(MACHINE, SheetsThrough(T0, 203 * 254, 1))
    after = at_once(MACHINE, SheetsThrough(T0, 203 * 254, 1), Given(T0, 500 * PL_PER_ML))
    assert after.outstanding_pl == before.outstanding_pl
    assert after.extra_pl == 500 * PL_PER_ML
    assert after.silver_tank_pg == pytest.approx(before.silver_tank_pg * 9 / 9.5)


def test_water_changes_no_sum_but_its_own():
    before = at_once(MACHINE, SheetsThrough(T0, 203 * 254, 5))
    assert at_once(MACHINE, SheetsThrough(T0, 203 * 254, 5), Water(T0, PL_PER_L)) == replace(before, water_pl=PL_PER_L)


def test_a_note_changes_nothing_and_condemned_stays():
    assert at_once(BATCH, Note(T0)) == begun(T0)
    later = T0 + timedelta(hours=1)
    assert at_once(BATCH, Condemned(T0), Condemned(later)).condemned_at == T0


def test_working_solution_first_fills_what_was_lost_and_then_overflows():
    sheets = SheetsThrough(T0, 1_000_000, 3)
    full = at_once(BATCH, sheets)
    lost = at_once(BATCH, sheets, Lost(T0, PL_PER_L))
    assert lost.silver_tank_pg == pytest.approx(full.silver_tank_pg * 2 / 3)
    assert silver_ug_per_l(lost, BATCH.volume_pl) == pytest.approx(silver_ug_per_l(full, BATCH.volume_pl))
    filled = at_once(BATCH, sheets, Lost(T0, PL_PER_L), WorkingSolution(T0, PL_PER_L))
    assert (filled.short_pl, filled.silver_overflow_pg) == (0, 0)
    assert filled.silver_tank_pg == lost.silver_tank_pg
    over = at_once(BATCH, sheets, Lost(T0, PL_PER_L), WorkingSolution(T0, 2 * PL_PER_L))
    assert over.silver_tank_pg == pytest.approx(lost.silver_tank_pg * 3 / 4)


def test_a_partial_dump_takes_its_share_of_wear_and_silver():
    sheets = SheetsThrough(T0, 1_000_000, 3)
    before, after = at_once(BATCH, sheets), at_once(BATCH, sheets, PartialDump(T0, PL_PER_L))
    assert after.worn_mm2 == pytest.approx(before.worn_mm2 * 2 / 3)
    assert after.silver_tank_pg == pytest.approx(before.silver_tank_pg * 2 / 3)
    assert after.area_mm2 == before.area_mm2  # the sheets did go through


def test_a_measured_strip_resets_the_silver_and_keeps_both_values():
    state = at_once(BATCH, SheetsThrough(T0, 1_000_000, 3), StripRead(T0, 900_000))
    assert silver_ug_per_l(state, BATCH.volume_pl) == pytest.approx(900_000)
    assert state.silver_read_ug_per_l == 900_000
    assert state.silver_reckoned_ug_per_l == pytest.approx(650_000)  # 3 m² × 0.65 g over 3 L
    unread = at_once(BATCH, SheetsThrough(T0, 1_000_000, 3), StripRead(T0))
    assert unread == at_once(BATCH, SheetsThrough(T0, 1_000_000, 3))


IDLE = replace(HAND, idle_pl_per_day=1000)


@pytest.mark.parametrize(
    ("last", "next_", "days"),
    [
        ("2026-03-02T10:00", "2026-03-02T21:00", 0),
        ("2026-03-02T23:30", "2026-03-03T00:30", 0),  # the next day: no whole day between
        ("2026-03-02T10:00", "2026-03-04T09:00", 1),
        ("2026-03-27T23:30", "2026-03-30T00:30", 2),  # over the spring change: 23 hours are a whole day
        ("2026-10-23T23:30", "2026-10-26T00:30", 2),  # over the autumn change: 25 hours are one day
    ],
)
def test_idle_days_are_whole_local_days_between_sheets(last, next_, days):
    first = datetime.fromisoformat(last).replace(tzinfo=ZONE)
    second = datetime.fromisoformat(next_).replace(tzinfo=ZONE)
    history = SettingsHistory.always(IDLE)
    state = fold(first, [SheetsThrough(first, 1, 1)], history, ZONE)
    assert looked_at(state, second, history, ZONE).idle_pl == 1000 * days
    state = applied(state, SheetsThrough(second, 1, 1), history, ZONE)
    assert (state.idle_pl, state.due_pl) == (1000 * days, 1000 * days + 2 * 500_000)


def test_idle_days_count_from_the_refill_and_only_once_whatever_is_noted_between():
    history = SettingsHistory.always(IDLE)
    end = T0 + timedelta(days=10)
    plain = fold(T0, [SheetsThrough(end, 1, 1)], history, ZONE)
    noted = fold(T0, [*(Note(T0 + timedelta(days=d)) for d in range(1, 10)), SheetsThrough(end, 1, 1)], history, ZONE)
    assert plain == noted
    assert plain.idle_pl == 9 * 1000


def test_every_idle_time_counts_anew_from_its_own_last_sheets():
    history = SettingsHistory.always(IDLE)
    events = [SheetsThrough(T0 + timedelta(days=day), 1, 1) for day in (4, 6, 7, 10)]
    assert fold(T0, events, history, ZONE).idle_pl == (3 + 1 + 0 + 2) * 1000


def test_cleaning_sheets_do_not_end_an_idle_time_and_an_unknown_refill_starts_none():
    history = SettingsHistory.always(IDLE)
    end = T0 + timedelta(days=4)
    cleaned = fold(T0, [SheetsThrough(T0 + timedelta(days=2), 0, 3), SheetsThrough(end, 1, 1)], history, ZONE)
    assert (cleaned.idle_pl, cleaned.sheets, cleaned.area_mm2) == (3000, 4, 1)
    assert fold(None, [SheetsThrough(end, 1, 1)], history, ZONE).idle_pl == 0


def test_the_idle_amount_of_each_day_is_the_one_in_force_then():
    changed = datetime(2026, 3, 5, 12, tzinfo=UTC)
    history = SettingsHistory([(T0, IDLE), (changed, replace(IDLE, idle_pl_per_day=5000))])
    state = fold(T0, [SheetsThrough(T0 + timedelta(days=5), 1, 1)], history, ZONE)  # 3, 4, 5, 6 March between
    assert state.idle_pl == 1000 + 1000 + 5000 + 5000


def test_a_pump_gives_the_idle_amount_in_whole_strokes():
    bath = replace(MACHINE, idle_pl_per_day=30 * PL_PER_ML)
    history = SettingsHistory.always(bath)
    state = fold(T0, [SheetsThrough(T0, 1, 1)], history, ZONE)
    later = looked_at(state, T0 + timedelta(days=3), history, ZONE)
    assert later.idle_pl == 60 * PL_PER_ML
    assert later.given_pl == 60 * PL_PER_ML and later.outstanding_pl == 500_000


def test_the_sums_never_turn_to_floats():
    state = at_once(MACHINE, SheetsThrough(T0, 406 * 508, 10_000), SheetsThrough(T0, 203 * 254, 1))
    assert state.due_pl == (406 * 508 * 10_000 + 203 * 254) * 500_000
    assert all(isinstance(value, int) for value in (state.due_pl, state.given_pl, state.area_mm2, state.silver_in_pg))
