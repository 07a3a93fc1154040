"""The courses of a tank, against an integrator that knows only their equations (scipy.integrate.solve_ivp)."""

import math
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from studiodesk.chemistry.rules.events import SheetsThrough
from studiodesk.chemistry.rules.settings import BathSettings, SettingsHistory
from studiodesk.chemistry.rules.standing import silver_settles_at
from studiodesk.chemistry.rules.tank import fold, silver_ug_per_l
from studiodesk.planning.rules.tank_course import (
    area_until,
    built_up,
    turnovers_by,
    used_and_oxidised,
    used_with_carry_out,
    washed_out,
)
from studiodesk.units import PL_PER_L, PL_PER_ML

# The project's check cases (design notes, "Check cases for the tank equations"): V 10 L, r 0.2 L/m², 2.5 m² a day for
# 30 days, so T = 1.5; given there to six decimals.
V, RATE, A_DAY, DAYS = 10.0, 0.2, 2.5, 30.0
AREA = A_DAY * DAYS


def integrated(slope, start, end):
    """The state at ``end`` of dy/ds = slope(y), y(0) = start."""
    if end == 0:
        return list(start)
    solved = solve_ivp(lambda _s, y: slope(y), (0, end), start, method="DOP853", rtol=1e-10, atol=1e-12)
    assert solved.success
    return [row[-1] for row in solved.y]


amount = st.floats(0, 20)
positive = st.floats(0.01, 5)
volume_l = st.floats(0.5, 60)
metres = st.floats(0, 100)
any_rate = st.one_of(st.just(0.0), st.floats(-12, 0.5).map(lambda exponent: 10**exponent))
few = settings(max_examples=25, deadline=None)


# --- washout -------------------------------------------------------------------------------------------------------


def test_the_check_case_of_washout():
    turnovers = turnovers_by(AREA, V, RATE)
    assert turnovers == pytest.approx(1.5)
    assert washed_out(turnovers, first=4, replenisher=1) == pytest.approx(1.669390, abs=1e-6)


@few
@given(st.floats(0, 8), amount, amount)
def test_washout_agrees_with_an_integrator(turnovers, first, replenisher):
    # scipy.integrate.solve_ivp on dc/dT = c_r − c
    (expected,) = integrated(lambda c: [replenisher - c[0]], [first], turnovers)
    assert washed_out(turnovers, first, replenisher) == pytest.approx(expected, rel=1e-8, abs=1e-8)


# --- a by-product --------------------------------------------------------------------------------------------------

BROMIDE = {"start": 0.6, "made": 0.35, "volume": V, "rate": RATE, "brought": 0.2}


def test_the_check_case_of_a_by_product():
    assert built_up(AREA, **BROMIDE) == pytest.approx(1.648774, abs=1e-6)
    assert built_up(1e6, **BROMIDE) == pytest.approx(1.95, abs=1e-12)  # where it settles


@few
@given(amount, metres, st.floats(0, 3), volume_l, st.one_of(st.just(0.0), st.floats(1e-9, 2)), amount)
def test_a_by_product_agrees_with_an_integrator(start, area, made, volume, rate, brought):
    # scipy.integrate.solve_ivp on V·dB/dA = p + r·(B_r − B)
    (expected,) = integrated(lambda b: [(made + rate * (brought - b[0])) / volume], [start], area)
    ours = built_up(area, start=start, made=made, volume=volume, rate=rate, brought=brought)
    assert ours == pytest.approx(expected, rel=1e-7, abs=1e-8)


@settings(deadline=None)
@given(st.floats(0, 3), positive, volume_l, any_rate, st.floats(0, 1), st.floats(0.01, 0.99))
def test_the_area_until_a_limit_is_where_the_by_product_reaches_it(start, made, volume, rate, brought, share):
    settles = brought + made / rate if rate else math.inf
    limit = start + share * min(5.0, settles - start)
    if limit <= start:
        return
    area = area_until(limit, start=start, made=made, volume=volume, rate=rate, brought=brought)
    assert area is not None
    assert area > 0
    reached = built_up(area, start=start, made=made, volume=volume, rate=rate, brought=brought)
    assert reached == pytest.approx(limit, rel=1e-10)


def test_the_area_until_a_limit_agrees_with_an_integrator():
    # scipy.integrate.solve_ivp's event: silver from 0.4 to 1.5 g/L in 9 L, σ 0.95 g/m², r 0.5 L/m² (settles at 1.9)
    reached = lambda _a, ag: ag[0] - 1.5  # noqa: E731
    reached.terminal = True
    solved = solve_ivp(
        lambda _a, ag: [(0.95 - 0.5 * ag[0]) / 9], (0, 500), [0.4], events=reached, rtol=1e-10, atol=1e-12
    )
    ours = area_until(1.5, start=0.4, made=0.95, volume=9, rate=0.5)
    assert ours == pytest.approx(solved.t_events[0][0], rel=1e-8)
    # the closed form as the design gives it: −(V/r)·ln((σ/r − limit)/(σ/r − Ag))
    assert ours == pytest.approx(-(9 / 0.5) * math.log((1.9 - 1.5) / (1.9 - 0.4)), rel=1e-12)


def test_a_batch_takes_what_its_volume_holds():
    # planning section 2: (limit − Ag)·V/σ
    assert area_until(6.0, start=1.5, made=0.65, volume=3, rate=0) == pytest.approx(4.5 * 3 / 0.65, rel=1e-15)
    assert built_up(10, start=1.5, made=0.65, volume=3, rate=0) == pytest.approx(1.5 + 6.5 / 3, rel=1e-15)


def test_a_limit_that_is_never_met_has_no_area():
    assert area_until(2.0, start=0, made=0.95, volume=9, rate=0.5) is None  # settles at 1.9
    assert area_until(1.9, start=0, made=0.95, volume=9, rate=0.5) is None  # reaches it never, only nears it
    assert area_until(1.0, start=0, made=0, volume=9, rate=0) is None
    assert area_until(1.0, start=0.8, made=0.1, volume=9, rate=0.5) is None  # it falls
    assert area_until(1.8999, start=0, made=0.95, volume=9, rate=0.5) is not None


def test_a_limit_that_is_met_already_takes_no_more_area():
    assert area_until(1.0, start=1.0, made=0.95, volume=9, rate=0.5) == 0
    assert area_until(1.0, start=3.0, made=0.1, volume=9, rate=0.5) == 0


def test_the_least_of_a_rate_is_as_good_as_none():
    batch = area_until(2.0, start=0.2, made=0.5, volume=9, rate=0)
    for rate in (5e-324, 1e-300, 1e-20, 1e-12):
        assert area_until(2.0, start=0.2, made=0.5, volume=9, rate=rate) == pytest.approx(batch, rel=1e-9)
        assert built_up(batch, start=0.2, made=0.5, volume=9, rate=rate) == pytest.approx(2.0, rel=1e-9)


def test_strokes_of_a_pump_tend_to_the_continuous_course():
    # chemistry reckons stroke by stroke; with strokes of 1 mL in 9 L the two agree to a thousandth, in integer units
    at = datetime(2026, 3, 2, 8, tzinfo=UTC)
    bath = BathSettings(9 * PL_PER_L, "machine", rate_ul_per_m2=500_000, unit_pl=PL_PER_ML, silver_ug_per_m2=950_000)
    sheet, sheets = 203 * 254, 400
    state = fold(at, [SheetsThrough(at, sheet, sheets)], SettingsHistory.always(bath), ZoneInfo("UTC"))
    by_strokes = silver_ug_per_l(state, bath.volume_pl)
    ours = built_up(sheet * sheets, start=0.0, made=950_000, volume=bath.volume_pl, rate=500_000) * PL_PER_L / 1e6
    assert by_strokes == pytest.approx(ours, rel=2e-3)
    assert ours < silver_settles_at(bath)


# --- a developing agent --------------------------------------------------------------------------------------------

AGENT = {"start": 5.0, "replenisher": 6.0, "used": 0.4, "volume": V, "rate": RATE, "a_day": A_DAY, "decay": 0.015}


def test_the_check_case_of_use_and_oxidation():
    assert used_and_oxidised(DAYS, **AGENT) == pytest.approx(3.350527, abs=1e-6)
    assert used_and_oxidised(1e5, **AGENT) == pytest.approx(0.2 / 0.065, abs=1e-12)  # settles at 3.0769


@few
@given(
    st.floats(0, 60), amount, amount, st.floats(0, 2), volume_l, st.floats(0, 1), st.floats(0, 5),
    st.one_of(st.just(0.0), st.floats(0, 0.1)),
)  # fmt: skip
def test_use_and_oxidation_agree_with_an_integrator(days, start, replenisher, used, volume, rate, a_day, decay):
    # scipy.integrate.solve_ivp on dD/dt = (r·a/V)·(D_r − D) − a·u/V − k·D
    def slope(d):
        return [rate * a_day / volume * (replenisher - d[0]) - a_day * used / volume - decay * d[0]]

    (expected,) = integrated(slope, [start], days)
    ours = used_and_oxidised(
        days, start=start, replenisher=replenisher, used=used, volume=volume, rate=rate, a_day=a_day, decay=decay
    )
    assert ours == pytest.approx(expected, rel=1e-7, abs=1e-7)


def test_the_least_of_replenishment_and_air_is_as_good_as_none():
    plainly = used_and_oxidised(20, **{**AGENT, "rate": 0, "decay": 0})
    assert plainly == pytest.approx(5 - 20 * 2.5 * 0.4 / 10, rel=1e-14)
    for least in (5e-324, 1e-300, 1e-18, 1e-13):
        assert used_and_oxidised(20, **{**AGENT, "rate": least, "decay": least}) == pytest.approx(plainly, rel=1e-11)


def test_a_tank_at_rest_oxidises_alone():
    # common practice: exponential decay, e^(−k·t)
    ours = used_and_oxidised(20, start=5, replenisher=6, used=0.4, volume=10, rate=0.2, a_day=0, decay=0.03)
    assert ours == pytest.approx(5 * math.exp(-0.6), rel=1e-14)


# --- not replenished, with carry-out -------------------------------------------------------------------------------


def test_the_check_case_of_carry_out():
    left, agent = used_with_carry_out(40, start=5, used=0.4, volume=V, carried=0.03)
    assert left == pytest.approx(8.8, abs=1e-12)
    assert agent == pytest.approx(3.295555, abs=1e-6)


@few
@given(st.floats(0, 0.95), positive, amount, st.floats(0, 2), volume_l)
def test_carry_out_agrees_with_an_integrator(share, carried, start, used, volume):
    # scipy.integrate.solve_ivp on dV/dA = −w, d(V·D)/dA = −u − w·D, as amounts
    area = share * volume / carried

    def slope(state):
        litres, grams = state
        return [-carried, -used - carried * grams / litres]

    litres, grams = integrated(slope, [volume, volume * start], area)
    left, agent = used_with_carry_out(area, start=start, used=used, volume=volume, carried=carried)
    assert left == pytest.approx(litres, rel=1e-8)
    assert agent == pytest.approx(grams / litres, rel=1e-6, abs=1e-6)


def test_without_carry_out_the_volume_stays():
    assert used_with_carry_out(40, start=5, used=0.4, volume=10, carried=0) == (10, pytest.approx(5 - 0.4 * 4))
    nearly = used_with_carry_out(40, start=5, used=0.4, volume=10, carried=1e-15)
    assert nearly == (pytest.approx(10), pytest.approx(5 - 0.4 * 4, rel=1e-12))


def test_a_tank_that_would_be_empty_is_refused():
    with pytest.raises(ValueError, match="nothing is left"):
        used_with_carry_out(40, start=5, used=0.4, volume=1.2, carried=0.03)


@pytest.mark.parametrize("volume", [0, -1, math.nan, math.inf])
def test_a_tank_without_a_volume_is_refused(volume):
    with pytest.raises(ValueError, match="volume"):
        area_until(1, start=0, made=1, volume=volume, rate=0)
    with pytest.raises(ValueError, match="volume"):
        built_up(1, start=0, made=1, volume=volume, rate=0)


def test_less_than_nothing_is_refused_by_name():
    with pytest.raises(ValueError, match="rate"):
        turnovers_by(1, 10, -0.1)
    with pytest.raises(ValueError, match="area"):
        built_up(-1, **BROMIDE)
    with pytest.raises(ValueError, match="decay"):
        used_and_oxidised(1, **{**AGENT, "decay": np.nan})
    with pytest.raises(ValueError, match="turnovers"):
        washed_out(-0.1, 4, 1)
