"""Check values from outside for washout and silver, and an integrator as a second opinion.

Classes as in ``test_published_values``: P published, H input published, D arithmetic on a memory-grade figure.
"""

import math
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from studiodesk.chemistry.rules.events import Given, SheetsThrough
from studiodesk.chemistry.rules.seasoning import (
    concentrated_by,
    left_by_adding,
    left_by_continuous_bleed,
    left_by_drawing_off,
)
from studiodesk.chemistry.rules.settings import BathSettings, SettingsHistory
from studiodesk.chemistry.rules.standing import silver_settles_at
from studiodesk.chemistry.rules.tank import begun, fold, silver_ug_per_l
from studiodesk.units import PL_PER_L, PL_PER_ML, area_mm2, due_pl

UTC_ZONE = ZoneInfo("UTC")
T0 = datetime(2026, 3, 2, 8, tzinfo=UTC)


# --- washout -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("turnovers", "left"), [(1, 0.368), (2, 0.135), (3, 0.050)])
def test_what_is_left_after_turnovers(turnovers, left):
    # no. 32, class H: a tank is seasoned after 2 to 3 turnovers: 13.5 % and 5.0 % of the first mix are left.
    # Source of the 2 to 3: US FDA MQSA policy guidance help text; e^−T is arithmetic
    assert left_by_continuous_bleed(turnovers) == pytest.approx(left, abs=5e-4)


def test_what_is_left_agrees_with_an_integrator():
    # Cross-check with scipy.integrate.solve_ivp on dx/dT = −x, and the step forms tend to it as the steps get small
    solved = solve_ivp(lambda _t, x: -x, (0, 3), [1.0], rtol=1e-10, atol=1e-12, t_eval=[1, 2, 3])
    for turnovers, left in zip((1, 2, 3), solved.y[0], strict=True):
        assert left_by_continuous_bleed(turnovers) == pytest.approx(left, rel=1e-7)
        steps = 100_000
        assert left_by_drawing_off(steps, turnovers / steps) == pytest.approx(left, rel=1e-4)
        assert left_by_adding(steps, turnovers / steps) == pytest.approx(left, rel=1e-4)
    assert left_by_drawing_off(10, 0.1) < left_by_continuous_bleed(1) < left_by_adding(10, 0.1)


def test_evaporation_makes_a_bath_stronger():
    # no. 41, class D: 150 mL of 2 L → +8.108 % (and 100 mL → +5.3 %).  Method: V/(V − E) − 1
    assert concentrated_by(2000, 150) == pytest.approx(0.08108, abs=5e-6)
    assert concentrated_by(2000, 100) == pytest.approx(0.053, abs=5e-4)


# --- silver --------------------------------------------------------------------------------------------------------


def test_ten_prints_bring_half_a_gram_to_a_litre():
    # class D: the published pair 10 prints ↔ 0.5 g/L and 40 prints ↔ 2 g/L (darkside.photography, "Archival
    # processing"; capacities quoted in apug.org post 1475042) means 0.05 g a sheet of 8×10 in.
    area = area_mm2(203, 254, 1)
    per_m2 = round(0.05e6 / (area / 1e6))  # µg/m²
    settings = BathSettings(PL_PER_L, "batch", silver_ug_per_m2=per_m2, silver_limit_ug_per_l=2_000_000)
    history = SettingsHistory.always(settings)
    for prints, grams in ((10, 0.5), (40, 2.0)):
        state = fold(T0, [SheetsThrough(T0, area, prints)], history, UTC_ZONE)
        assert silver_ug_per_l(state, PL_PER_L) / 1e6 == pytest.approx(grams, rel=1e-6)


@pytest.mark.parametrize(("sigma", "rate", "grams"), [(0.65, 215, 3.0), (0.65, 54, 12.0), (0.95, 500, 1.9)])
def test_silver_settles_where_sigma_over_rate_says(sigma, rate, grams):
    # σ/r, class D: 0.65/0.215 = 3.0 g/L and 0.65/0.054 = 12 g/L (figures from memory); 0.95/0.500 = 1.9 g/L as in the
    # project's chemistry notes.
    settings = BathSettings(
        2 * PL_PER_L, "machine", rate_ul_per_m2=rate * 1000, unit_pl=PL_PER_ML, silver_ug_per_m2=int(sigma * 1e6)
    )
    assert silver_settles_at(settings) / 1e6 == pytest.approx(grams, abs=0.04)
    area = area_mm2(203, 254, 1)
    sheets = round(12 * settings.volume_pl / due_pl(area, settings.rate_ul_per_m2))  # twelve turnovers
    state = fold(T0, [SheetsThrough(T0, area, sheets)], SettingsHistory.always(settings), UTC_ZONE)
    # after each sheet's strokes the tank stands a little under the mean of its saw-tooth
    assert silver_ug_per_l(state, settings.volume_pl) == pytest.approx(silver_settles_at(settings), rel=0.01)


def test_silver_on_the_way_up_agrees_with_an_integrator():
    # Cross-check: dAg/dA = σ/V − Ag·r/V (well-mixed tank with overflow), solved by scipy.integrate.solve_ivp
    sigma, rate, volume = 950_000, 500_000, 9 * PL_PER_L
    settings = BathSettings(volume, "machine", rate_ul_per_m2=rate, unit_pl=12 * PL_PER_ML, silver_ug_per_m2=sigma)
    litres, metres = volume / PL_PER_L, np.array([5.0, 20.0, 60.0])
    solved = solve_ivp(
        lambda _a, ag: [(sigma - ag[0] * rate / 1e6) / litres], (0, 60), [0.0], t_eval=metres, rtol=1e-9, atol=1e-6
    )
    area = area_mm2(203, 254, 1)
    for square_metres, expected in zip(metres, solved.y[0], strict=True):
        sheets = round(square_metres * 1e6 / area)
        state = fold(T0, [SheetsThrough(T0, area, sheets)], SettingsHistory.always(settings), UTC_ZONE)
        assert silver_ug_per_l(state, volume) == pytest.approx(expected, rel=0.01)
    assert solved.y[0][-1] == pytest.approx(sigma / rate * 1e6 * (1 - math.exp(-60 * 0.5 / 9)), rel=1e-6)


def test_each_giving_over_the_weir_leaves_its_share():
    # Ag·V/(V + d), method: 1 L into a full 9 L leaves nine tenths
    settings = BathSettings(9 * PL_PER_L, "hand", rate_ul_per_m2=500_000, silver_ug_per_m2=950_000)
    history = SettingsHistory.always(settings)
    before = fold(T0, [SheetsThrough(T0, 1_000_000, 9)], history, UTC_ZONE)
    after = fold(T0, [SheetsThrough(T0, 1_000_000, 9), Given(T0, PL_PER_L)], history, UTC_ZONE)
    assert after.silver_tank_pg / before.silver_tank_pg == pytest.approx(0.9)
    assert begun(T0).silver_tank_pg == 0
