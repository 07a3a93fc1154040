"""What a tank still takes before a limit, and what idle days do to it.  No database.

The room of a replenished tank is held against the sum of what it will have been given, done here sheet by sheet.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from itertools import accumulate
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from scipy.stats import gamma

from studiodesk.chemistry.rules.events import Event, Given, SheetsThrough
from studiodesk.chemistry.rules.settings import HAND, MACHINE, BathSettings, SettingsHistory
from studiodesk.chemistry.rules.standing import TURNOVERS, BathName, standing
from studiodesk.chemistry.rules.tank import fold
from studiodesk.planning.rules.limits import Room, Tank, tank
from studiodesk.planning.rules.passage import bands, passage, towards
from studiodesk.planning.rules.values import Course
from studiodesk.units import PL_PER_L, PL_PER_ML

ZONE = ZoneInfo("Europe/Amsterdam")
NOW = datetime(2026, 9, 14, 6, tzinfo=ZONE)
TODAY = NOW.date()
SHEET = 203 * 254
RATE_ML = 300  # a square metre
DAY = timedelta(days=1)


def stood(dosing: str, events: list[Event], idle_ml: int = 0) -> Tank:
    settings = BathSettings(
        4 * PL_PER_L,
        dosing,
        rate_ul_per_m2=RATE_ML * 1000,
        unit_pl=100 * PL_PER_ML,
        turnover_limit=Decimal("1.5"),
        idle_pl_per_day=idle_ml * PL_PER_ML,
    )
    history = SettingsHistory.always(settings)
    state = fold(NOW - DAY, events, history, ZONE)
    return tank(standing(BathName("P", "dev", "p"), state, history, NOW, ZONE), settings)


@pytest.mark.parametrize("given_ml", [0, 200, 300, 900, 2000])
def test_replenisher_that_waits_or_was_given_ahead_counts_on_the_way_to_the_turnovers(given_ml):
    """20 sheets ask 309.4 mL.  More sheets come, and a person gives what is due: when have 6 L been given?"""
    events: list[Event] = [SheetsThrough(NOW - 5 * DAY / 24, SHEET, 20)]
    if given_ml:
        events.append(Given(NOW - DAY / 24, given_ml * PL_PER_ML))
    held = stood(HAND, events)
    owed = 20 * SHEET * RATE_ML * 1000 - given_ml * PL_PER_ML
    assert held.standing.outstanding_pl == owed  # under 0: given ahead
    sheets, given = 0, given_ml * PL_PER_ML
    while given < 1.5 * 4 * PL_PER_L:
        sheets += 1
        owed += SHEET * RATE_ML * 1000
        given, owed = given + max(0, owed), min(owed, 0)
    assert held.rooms[TURNOVERS].mm2 == pytest.approx((sheets - 0.5) * SHEET, abs=SHEET / 2 + 1)
    assert sheets == 368  # 6 L / 15.47 mL, less the 20 that went through: whatever was given when


def test_of_a_pump_s_tank_what_waits_for_the_next_stroke_is_on_its_way_too():
    held = stood(MACHINE, [SheetsThrough(NOW - DAY / 24, SHEET, 20)])
    assert held.standing.outstanding_pl == 20 * SHEET * RATE_ML * 1000 - 300 * PL_PER_ML
    assert held.rooms[TURNOVERS].mm2 == pytest.approx(1.5 * 4 * PL_PER_L / (RATE_ML * 1000) - 20 * SHEET, abs=1)


def test_a_tank_that_more_than_all_waits_for_has_no_room_left_and_never_less_than_none():
    held = stood(HAND, [SheetsThrough(NOW - DAY / 24, SHEET, 500)])  # 7.7 L are due, none was given
    assert held.passed is None and held.rooms[TURNOVERS] == Room(0.0)


# --- idle days -------------------------------------------------------------------------------------------------------

#: Eight days in ten without a sheet, five sheets each other day.
NONE, SHEETS = 0.8, 5 * SHEET


def lonely(days: int = 60, idle_variance: bool = True) -> Course:
    """Few sheets: what a day asks, while it stands idle, is most of what the tank is given."""
    often = 1 - NONE
    mean = list(accumulate([often * SHEETS] * days))
    variance = list(accumulate([often * NONE * SHEETS**2] * days))
    idle = list(accumulate([NONE] * days))
    spread = list(accumulate([NONE * often] * days))
    return Course(1, TODAY, mean, variance, 0.0, 9, idle_days=idle, idle_variance=spread if idle_variance else [])


def test_an_idle_day_takes_so_much_area_of_the_room_with_its_own_variance():
    of, room = lonely(), Room(9e6, 4e5)
    for day in (0, 10, 59):
        n = day + 1
        mean = n * (0.2 * SHEETS + 0.8 * 4e5)
        variance = n * 0.16 * (SHEETS**2 + 4e5**2)  # a binomial's n·p·(1 − p) for each
        assert towards(of, room, day) == (pytest.approx(mean), pytest.approx(variance))
        assert towards(of, Room(9e6), day) == (pytest.approx(n * 0.2 * SHEETS), pytest.approx(n * 0.16 * SHEETS**2))
    assert towards(lonely(idle_variance=False), room, 10)[1] == pytest.approx(11 * 0.16 * SHEETS**2)


def test_the_range_of_a_tank_that_mostly_idles_holds_the_drawn_futures():
    """20,000 futures, seed 20260914: a day is idle or brings five sheets; idle days ask 200 mL."""
    held = stood(HAND, [], idle_ml=200)
    found = passage(lonely(), held, ZONE)
    used = np.random.default_rng(20260914).random((60, 20_000)) > NONE
    gone = np.cumsum(np.where(used, SHEETS, 200 / RATE_ML * 1e6), axis=0)
    came = np.argmax(gone >= held.rooms[TURNOVERS].mm2, axis=0)
    p10, p50, p90 = ((day - TODAY).days for day in (found.p10, found.p50, found.p90) if day)
    assert abs(p50 - float(np.median(came))) <= 1
    # wider than it need be, for a day that idles brings no sheets and the sum is surer than its parts; never narrower
    assert 0.8 <= float(np.mean((came >= p10) & (came <= p90))) < 0.997


def test_the_bands_of_the_fan_are_scipys_quantiles_of_what_is_taken_of_the_room():
    of, room = lonely(), Room(9e6, 4e5)
    found = bands(of, (0.1, 0.5, 0.9), room)
    for share, areas in found.items():
        for day in (20, 59):
            mean, variance = towards(of, room, day)
            expected = gamma.ppf(share, mean**2 / variance, scale=variance / mean)
            assert areas[day] == pytest.approx(expected, rel=1e-8)
    assert bands(of, (0.5,))[0.5][59] < found[0.5][59] - 40 * 4e5
