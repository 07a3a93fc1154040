"""Check values from outside: published figures, worked examples and what follows from them by arithmetic.

Classes as in the project's collection of chemistry facts: P — inputs and output published; H — inputs published, the
output reckoned here; D — an arithmetic identity on a memory-grade figure, which tests the arithmetic and no chemistry.
"From memory" is said where it is so.  None of these figures is a default of the software.
"""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from zoneinfo import ZoneInfo

import pytest

from studiodesk.chemistry.rules.events import SheetsThrough
from studiodesk.chemistry.rules.settings import BathSettings, SettingsHistory
from studiodesk.chemistry.rules.standing import BathName, capacity_used, standing
from studiodesk.chemistry.rules.tank import begun, fold
from studiodesk.chemistry.rules.throughput import replenisher_flow_pl_per_s, roll_time_s, transport_speed
from studiodesk.units import (
    ML_PER_US_GALLON,
    MM2_PER_FT2,
    MM_PER_INCH,
    PL_PER_L,
    PL_PER_ML,
    area_mm2,
    due_pl,
    pl_from_ml,
    ul_per_m2_from_ml_per_ft2,
    ul_per_m2_from_ml_per_m2,
)

UTC_ZONE = ZoneInfo("UTC")
T0 = datetime(2026, 3, 2, 8, tzinfo=UTC)
FOOT_MM = Fraction(3048, 10)
NAME = BathName("P", "b", "p")


def stands(state, settings, at=T0):
    return standing(NAME, state, SettingsHistory.always(settings), at, UTC_ZONE)


# --- units ---------------------------------------------------------------------------------------------------------


def test_a_foot_an_inch_and_a_gallon_are_what_the_yard_and_pound_agreement_says():
    # 1 ft² = 0.09290304 m², 1 in² = 0.00064516 m², 1 US gal = 3785.411784 mL: exact since 1959 (NIST SP 811 App. B)
    assert Decimal("92903.04") == MM2_PER_FT2
    assert Decimal("645.16") == MM_PER_INCH**2
    assert Decimal("3785.411784") == ML_PER_US_GALLON


def test_a_rate_per_square_foot_becomes_a_rate_per_square_metre():
    # 1 mL/ft² = 10.7639104 mL/m² (reciprocal of 0.09290304; identity).  D: 15 and 30 mL/ft² are from memory.
    assert ul_per_m2_from_ml_per_ft2(1) == 10_764
    assert ul_per_m2_from_ml_per_ft2(15) == 161_459
    assert ul_per_m2_from_ml_per_ft2(30) == 322_917


def test_machine_speed_from_path_and_dwell():
    # no. 1, class P: developer path 84 ft, dwell 70 s → 72 ft/min.  Source: KODAK D-32 p. 5
    speed = transport_speed(84 * FOOT_MM, 70)
    assert speed * 60 / FOOT_MM == 72


def test_replenisher_flow_from_speed_and_a_rate_per_length():
    # no. 2, class P: 72 ft/min at 2 mL/ft → 144 mL/min.  Source: KODAK D-32 p. 5
    flow = replenisher_flow_pl_per_s(72 * FOOT_MM / 60, 2 * PL_PER_ML / FOOT_MM)
    assert flow * 60 / PL_PER_ML == 144


def test_area_that_a_tank_of_replenisher_serves():
    # no. 3, class P: 25 US gal at 200 mL/ft² → 475 ft² printed, 473.18 exact.  Source: KODAK E-6 manual s. 2 Table 2-1
    square_feet = 25 * ML_PER_US_GALLON / 200
    assert float(square_feet) == pytest.approx(473.18, abs=0.005)
    assert float(square_feet) == pytest.approx(475, rel=0.0039)
    # the same through the integers of the program: that many ft² ask the whole 25 gallons
    area = int(square_feet * MM2_PER_FT2)
    asked = due_pl(area, ul_per_m2_from_ml_per_ft2(200))
    assert asked == pytest.approx(pl_from_ml(25 * ML_PER_US_GALLON), rel=1e-6)


def test_area_that_a_hundred_gallons_serve():
    # no. 4, class P: 100 gal at 100 mL/ft² → 3,780 ft² printed, 3,785.41 exact.  Source: the same table
    square_feet = 100 * ML_PER_US_GALLON / 100
    assert float(square_feet) == pytest.approx(3785.41, abs=0.005)
    assert float(square_feet) == pytest.approx(3780, rel=0.0015)
    asked = due_pl(int(square_feet * MM2_PER_FT2), ul_per_m2_from_ml_per_ft2(100))
    assert asked == pytest.approx(pl_from_ml(100 * ML_PER_US_GALLON), rel=1e-6)


# --- idle tanks, transport -----------------------------------------------------------------------------------------


def test_three_percent_of_a_gallon_for_a_stand_of_two_days():
    # no. 8, class P: 2-day stand, 1 US gal, 3 % → 3.84 fl oz (113.56 mL).  Source: US Army SS0514 p. 2-15.
    # 1.5 % a day is that figure halved; the tank stood over two whole days between its sheets.
    volume = pl_from_ml(ML_PER_US_GALLON)
    settings = BathSettings(volume, "hand", rate_ul_per_m2=0, idle_pl_per_day=int(volume * Decimal("0.015")))
    friday, monday = datetime(2026, 3, 6, 18, tzinfo=UTC), datetime(2026, 3, 9, 9, tzinfo=UTC)
    events = [SheetsThrough(friday, 1, 1), SheetsThrough(monday, 1, 1)]
    state = fold(friday, events, SettingsHistory.always(settings), UTC_ZONE)
    assert state.idle_pl / PL_PER_ML == pytest.approx(113.56, abs=0.005)
    assert Fraction(state.idle_pl, PL_PER_ML) / Fraction(Decimal("29.5735295625")) == pytest.approx(3.84, abs=0.0001)


def test_time_through_a_path():
    # no. 9, class P: 30 ft path at 10 ft/min → 3 min.  Source: NAVEDTRA 14209, mirror page 271
    assert roll_time_s(0, 30 * FOOT_MM, 10 * FOOT_MM / 60) == 180
    assert transport_speed(30 * FOOT_MM, 180) == 10 * FOOT_MM / 60


def test_time_for_a_roll():
    # no. 10, class P: process 10:20, 10 ft roll, 10 ft/min → 11:20.  Source: NAVEDTRA 14209, mirror page 271
    assert roll_time_s(10 * 60 + 20, 10 * FOOT_MM, 10 * FOOT_MM / 60) == 11 * 60 + 20


# --- rates worked back from published amounts ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("millilitres", "per_m2"),
    [
        (650, 609.3),  # no. 18, class H: 650 mL per 100 ft of 35 mm.  Source: KODAK TI2497 (11-99) p. 3
        (20, 18.75),  # no. 20, class H: leader, 20 mL per 100 ft.  Source: the same
    ],
)
def test_a_rate_per_length_of_film_as_a_rate_per_area(millilitres, per_m2):
    area = 100 * FOOT_MM * 35  # mm²: 1.0668 m²
    assert float(area) / 1e6 == pytest.approx(1.0668)
    rate = ul_per_m2_from_ml_per_m2(Decimal(millilitres) / (Decimal(float(area)) / 1_000_000))
    assert rate / 1000 == pytest.approx(per_m2, abs=0.05)
    assert due_pl(int(area), rate) / PL_PER_ML == pytest.approx(millilitres, rel=1e-4)


# --- capacity ------------------------------------------------------------------------------------------------------


def test_what_thirty_two_sheets_in_two_litres_mean():
    # no. 15, class H: 32 sheets of 8×10 in in 2 L → 16 a litre, 1.6516 m², 0.8258 m²/L, 62.5 mL a sheet.
    # Source: apug.org post 242398.  The exact inch area is 80 in² = 51 612.8 mm² (no integer: kept as a fraction here).
    sheet = 80 * MM_PER_INCH**2
    per_litre = int(16 * sheet)
    assert per_litre / 1e6 == pytest.approx(0.8258, abs=5e-5)
    for volume, sheets in ((2 * PL_PER_L, 32), (PL_PER_L, 16), (pl_from_ml("62.5"), 1)):
        settings = BathSettings(volume, "batch", capacity_mm2_per_l=per_litre)
        history = SettingsHistory.always(settings)
        fresh = stands(fold(T0, [], history, UTC_ZONE), settings)
        assert fresh.room_mm2 == pytest.approx(float(sheets * sheet), rel=1e-4)
        used_up = stands(fold(T0, [SheetsThrough(T0, round(sheet), sheets)], history, UTC_ZONE), settings)
        assert used_up.capacity_used == pytest.approx(1, abs=1e-4)
    assert stands(
        begun(T0), BathSettings(2 * PL_PER_L, "batch", capacity_mm2_per_l=per_litre)
    ).room_mm2 / 1e6 == pytest.approx(1.6516, abs=5e-5)


@pytest.mark.parametrize(("sheets", "used"), [(22, 0.6875), (24, 0.75)])
def test_where_display_prints_end_in_that_bath(sheets, used):
    # no. 16, class H: 22 to 24 of 32 → 0.6875 to 0.75 of the capacity.  Source: the same post
    area = area_mm2(203, 254, 1)
    settings = BathSettings(2 * PL_PER_L, "batch", capacity_mm2_per_l=16 * area)
    state = fold(T0, [SheetsThrough(T0, area, sheets)], SettingsHistory.always(settings), UTC_ZONE)
    assert stands(state, settings).capacity_used == used


def test_capacity_is_additive_over_papers():
    # no. 43, class D: 1 L 1+9, 30 RC at 100 a litre and 10 fibre at 50 a litre → 0.50.  Capacities from memory.
    # A bath has one capacity here, so the second paper counts in sheets of the first: 10 fibre wear like 20 RC.
    area = area_mm2(203, 254, 1)
    settings = BathSettings(PL_PER_L, "batch", capacity_mm2_per_l=100 * area)
    events = [SheetsThrough(T0, area, 30), SheetsThrough(T0, area * 2, 10)]
    history = SettingsHistory.always(settings)
    assert stands(fold(T0, events, history, UTC_ZONE), settings).capacity_used == 0.5
    # and over two sizes of one paper: each alone, and both in one bath
    small, large = SheetsThrough(T0, area, 7), SheetsThrough(T0, area_mm2(305, 406, 1), 5)
    alone = [capacity_used(fold(T0, [one], history, UTC_ZONE), settings) for one in (small, large)]
    assert alone == [0.07, pytest.approx(5 * 305 * 406 / (100 * area))]
    assert capacity_used(fold(T0, [small, large], history, UTC_ZONE), settings) == pytest.approx(sum(alone))


def test_the_nearest_limit_names_what_runs_out_first():
    # no. 45, class D: 2 L fixer, 40 a litre, 50 done, 6 a day, mixed 4 d ago, open life 7 d → capacity in 5 d, age in
    # 3 d, so age binds first on the third day.  Method; the capacity is from memory.
    area = area_mm2(203, 254, 1)
    settings = BathSettings(2 * PL_PER_L, "batch", capacity_mm2_per_l=40 * area, age_limit_s=7 * 86_400)
    history = SettingsHistory.always(settings)
    today = T0 + timedelta(days=4)
    events = [SheetsThrough(today, area, 50)]
    for day in (1, 2, 3):
        events.append(SheetsThrough(today + timedelta(days=day), area, 6))
    on_the_third = stands(fold(T0, events, history, UTC_ZONE), settings, today + timedelta(days=3))
    assert (on_the_third.limit, on_the_third.used, on_the_third.word) == ("age", 1.0, "spent")
    assert on_the_third.capacity_used == 68 / 80  # and the capacity would have lasted to the fifth: 80 = 50 + 5 × 6


# --- replenishment -------------------------------------------------------------------------------------------------


def test_ten_sheets_of_exact_inches():
    # no. 33, class D: 10 × 8×10 in at 161 mL/m² → 83.0966 mL (rate from memory).  Exact inches are 51 612.8 mm² a
    # sheet, so ten are a whole 516 128 mm².
    ten = int(10 * 80 * MM_PER_INCH**2)
    assert ten == 516_128
    assert due_pl(ten, 161_000) / PL_PER_ML == pytest.approx(83.0966, abs=5e-5)


@pytest.mark.parametrize(("rate", "microlitres"), [(161, "8301.482"), (215, "11085.83")])
def test_one_sheet_of_203_by_254_in_integers(rate, microlitres):
    # nos. 34 and 35, class D: 203 × 254 × rate / 1000 µL (rates from memory)
    asked = due_pl(area_mm2(203, 254, 1), ul_per_m2_from_ml_per_m2(rate))
    assert Decimal(asked) / 1_000_000 == Decimal(microlitres)


def test_a_mixed_job():
    # no. 36, class D: 24 of 203×254, 6 of 305×406, 2 of 406×508 → 2.392964 m²; 385.267 mL at 161, 514.487 mL at 215
    area = area_mm2(203, 254, 24) + area_mm2(305, 406, 6) + area_mm2(406, 508, 2)
    assert area == 2_392_964
    assert due_pl(area, 161_000) / PL_PER_ML == pytest.approx(385.267, abs=5e-4)
    assert due_pl(area, 215_000) / PL_PER_ML == pytest.approx(514.487, abs=5e-4)


def test_strokes_and_what_is_carried_over():
    # no. 39, class D: 10 mL a stroke, 83.0966 mL a session → 8, 8, 8, 9, 8, 8 strokes; 49 in all = 490 mL of 498.58;
    # 8.58 mL carried.  Method: floor with carry.
    settings = BathSettings(17 * PL_PER_L, "machine", rate_ul_per_m2=161_000, unit_pl=10 * PL_PER_ML)
    history = SettingsHistory.always(settings)
    strokes, given, events = [], 0, []
    for session in range(6):
        events.append(SheetsThrough(T0 + timedelta(hours=session), 516_128, 1))
        now = stands(fold(T0, events, history, UTC_ZONE), settings)
        strokes.append((now.given_pl - given) // (10 * PL_PER_ML))
        given = now.given_pl
    assert strokes == [8, 8, 8, 9, 8, 8]
    assert (given // PL_PER_ML, sum(strokes)) == (490, 49)
    assert now.due_pl / PL_PER_ML == pytest.approx(498.58, abs=5e-3)
    assert now.outstanding_pl / PL_PER_ML == pytest.approx(8.58, abs=5e-3)
    assert (now.strokes_due, now.remainder_pl) == (0, now.outstanding_pl)


def test_the_same_by_hand_waits_in_whole_measures():
    # no. 39 again, given by hand: nothing is given, so 49 whole units wait and the remainder is the same 8.58 mL
    settings = BathSettings(17 * PL_PER_L, "hand", rate_ul_per_m2=161_000, unit_pl=10 * PL_PER_ML)
    events = [SheetsThrough(T0, 516_128, 6)]
    now = stands(fold(T0, events, SettingsHistory.always(settings), UTC_ZONE), settings)
    assert (now.strokes_due, now.given_pl) == (49, 0)
    assert now.remainder_pl / PL_PER_ML == pytest.approx(8.58, abs=5e-3)


def test_area_of_one_turnover():
    # no. 37, class D: 17 L at 161 mL/m² → 105.59 m² a turnover = 2,045.8 sheets of 8×10 in (pair from memory)
    settings = BathSettings(17 * PL_PER_L, "hand", rate_ul_per_m2=161_000, unit_pl=PL_PER_ML)
    area = 105_590_062  # mm²: 17 000 / 161 m²
    now = stands(fold(T0, [SheetsThrough(T0, area, 1)], SettingsHistory.always(settings), UTC_ZONE), settings)
    assert now.due_pl / settings.volume_pl == pytest.approx(1, rel=1e-7)
    assert area / float(80 * MM_PER_INCH**2) == pytest.approx(2045.8, abs=0.05)
