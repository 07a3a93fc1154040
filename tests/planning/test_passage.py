"""When a limit is met, against a Monte-Carlo of the same posterior: 20,000 paths, every level drawn, seeds named.

Bounds from the design (planning.md, section 2): the distribution of the day within 0.04, P10, P50 and P90 within two
days.  Where the drawn distribution rises so slowly that a date hangs on hundredths, it may lie further off, as long as
0.02 more or less of the chance would move the drawn date as far.  numpy comes with scipy.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from functools import cache
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.stats import gamma

from studiodesk.chemistry.rules.events import SheetsThrough
from studiodesk.chemistry.rules.settings import BATCH, MACHINE, BathSettings, SettingsHistory
from studiodesk.chemistry.rules.standing import AGE, CAPACITY, SILVER, TURNOVERS, BathName, standing
from studiodesk.chemistry.rules.tank import fold
from studiodesk.planning.rules.course import courses
from studiodesk.planning.rules.limits import Tank, tank
from studiodesk.planning.rules.passage import chance_of, passage
from studiodesk.planning.rules.values import HORIZON_DAYS, Course, Known, Loose, Machine, Planned, Stay
from studiodesk.units import PL_PER_L

from .montecarlo import PATHS, days_of_area, first_day, posteriors, reached_by_day

ZONE = ZoneInfo("Europe/Amsterdam")
NOW = datetime(2026, 9, 14, 6, tzinfo=ZONE)  # a Monday
TODAY = NOW.date()
SHEET = 203 * 254
DEEP = 75  # days of the Monte-Carlo: every limit here lies well before
WITHIN, DAYS_OFF, FLAT = 0.04, 2, 0.02

OPEN = {day: 9.0 if 1 <= (TODAY + timedelta(days=day)).weekday() <= 4 else 8.0 for day in range(-210, HORIZON_DAYS + 1)}
HOURS = {TODAY + timedelta(days=day): 0.0 if (day % 7) == 0 else hours for day, hours in OPEN.items()}  # Mondays shut


def a_moment(day: int, hour: float) -> datetime:
    whole = date.fromordinal(TODAY.toordinal() + day)
    return datetime.combine(whole, datetime.min.time(), ZONE) + timedelta(hours=hour)


def some_stays(seed: int, rates: list[float], weeks: int, a_week: float, cancelled: float = 0.06) -> list[Stay]:
    """Sessions of members who print ``rates`` mm² an hour, gamma areas, booked some days before."""
    rng = np.random.default_rng(seed)
    stays = []
    for day in range(-7 * weeks, 0):
        for _ in range(rng.poisson(a_week / 6) if day % 7 else 0):
            member = int(rng.integers(len(rates)))
            long = float(rng.choice([2, 3, 4]))
            starts = a_moment(day, float(rng.integers(11, 17)))
            made = starts - timedelta(days=float(rng.exponential(5)) + 0.1)
            fed = int(rng.gamma(1.7, rates[member] * long / 1.7)) if rng.random() > 0.1 else 0
            gone = starts - timedelta(hours=2) if rng.random() < cancelled else None
            stays.append(
                Stay(member, 1, 1, starts, starts + timedelta(hours=long), made, gone, {1: 0 if gone else fed})
            )
    return stays


def booked_ahead(seed: int, members: list[int], days: int, a_week: float) -> list[Stay]:
    rng = np.random.default_rng(seed)
    stays = []
    for day in range(1, days):
        for _ in range(rng.poisson(a_week / 6) if day % 7 else 0):
            starts = a_moment(day, float(rng.integers(11, 17)))
            stays.append(Stay(int(rng.choice(members)), 1, 1, starts, starts + timedelta(hours=3), NOW))
    return stays


def facts(
    stays: list[Stay], loose: tuple[Loose, ...] = (), planned: tuple[Planned, ...] = (), weeks: int = 12
) -> Known:
    machine = Machine(1, 1, 3, a_moment(-7 * weeks, 8))
    return Known(NOW, ZONE, HOURS, 0.0, [machine], stays, loose, planned)


EVEN = [110_000.0, 130_000.0, 150_000.0, 90_000.0, 120_000.0, 140_000.0]
UNEVEN = [40_000.0, 60_000.0, 300_000.0, 90_000.0, 30_000.0, 120_000.0]


def a_batch(room_mm2: float, age_days: float | None = None, used_sheets: int = 10) -> Tank:
    """A batch of 3 L, filled four days ago, that takes so much more."""
    capacity = round((room_mm2 + used_sheets * SHEET) / 3)
    age = None if age_days is None else round((4 + age_days) * 86_400)
    return _stood(BathSettings(3 * PL_PER_L, BATCH, capacity_mm2_per_l=capacity, age_limit_s=age), used_sheets)


def _stood(settings: BathSettings, sheets: int) -> Tank:
    since, history = NOW - timedelta(days=4), SettingsHistory.always(settings)
    state = fold(since, [SheetsThrough(NOW - timedelta(days=1), SHEET, sheets)], history, ZONE)
    return tank(standing(BathName("P", "dev", "p"), state, history, NOW, ZONE), settings)


@dataclass(frozen=True)
class Case:
    known: Known
    course: Course
    area: np.ndarray  # day × path
    sheets: bool


@cache
def a_case(name: str) -> Case:
    """By name: the studio, its course and 20,000 futures of it."""
    seed = 20260914 + sorted(WORLDS).index(name)
    known, sheet = WORLDS[name]()
    area = days_of_area(posteriors(known)[1], DEEP, np.random.default_rng(seed), sheet_mm2=sheet)
    return Case(known, courses(known)[1], area, sheet is not None)


WORLDS = {
    "mostly booked": lambda: (
        facts(some_stays(1, EVEN, 10, 3) + booked_ahead(2, [0, 1, 2, 3, 4, 5, 6], 70, 12)),
        SHEET,
    ),
    "not booked yet": lambda: (facts(some_stays(3, EVEN, 12, 8)), None),
    "some of each": lambda: (
        facts(
            some_stays(4, UNEVEN, 12, 7) + booked_ahead(5, [0, 1, 3, 5, 9], 14, 6),
            tuple(Loose(1, a_moment(-day, 15), 3 * SHEET) for day in range(1, 80, 5)),
        ),
        SHEET,
    ),
    "one prints most": lambda: (
        facts(
            [
                replace(stay, fed={1: 6 * stay.area_mm2}) if stay.member == 2 else stay
                for stay in some_stays(6, EVEN, 12, 8)
            ]
            + booked_ahead(7, [2, 2, 2, 0, 1], 21, 5)
        ),
        None,
    ),
    "walk-ins alone": lambda: (
        facts([], tuple(Loose(1, a_moment(-day, 15), (1 + day % 7) * SHEET) for day in range(1, 84, 2))),
        None,
    ),
    "half is cancelled": lambda: (
        facts(some_stays(12, EVEN, 12, 12, cancelled=0.5) + booked_ahead(13, [0, 1, 2, 3, 4, 5], 70, 9)),
        SHEET,
    ),
    "newly begun": lambda: (facts(some_stays(8, EVEN, 1, 5) + booked_ahead(9, [0, 1, 7, 8], 14, 5), weeks=1), SHEET),
    "with a class": lambda: (
        facts(
            some_stays(10, EVEN, 12, 4) + booked_ahead(11, [0, 1, 2], 14, 3),
            planned=(Planned(1, a_moment(12, 14), 1_500_000, 2.5e11),),
        ),
        SHEET,
    ),
}


def assert_close(found: list[float], drawn: np.ndarray) -> None:
    said = np.array(found[: len(drawn)])
    assert np.abs(said - drawn).max() <= WITHIN, (np.round(said, 2), np.round(drawn, 2))
    for chance in (0.1, 0.5, 0.9):
        ours, theirs = first_day(said, chance), first_day(drawn, chance)
        if theirs is None:  # so wide that the end of the futures comes first
            assert ours is None, (chance, ours)
            continue
        assert ours is not None, (chance, theirs)
        first, last = first_day(drawn, chance - FLAT), first_day(drawn, chance + FLAT)
        hangs_on_hundredths = last is not None and first <= ours <= last
        assert abs(ours - theirs) <= DAYS_OFF or hangs_on_hundredths, (chance, ours, theirs)
    assert drawn[-1] > 0.5  # else the case would not say much


@pytest.mark.parametrize("name", sorted(WORLDS))
def test_mean_and_variance_are_those_of_the_drawn_futures(name):
    case = a_case(name)
    gone = np.cumsum(case.area, axis=0)
    for day in (3, 14, 28, 60):
        assert case.course.mean[day] == pytest.approx(gone[day].mean(), rel=0.03), day
        assert case.course.variance[day] == pytest.approx(gone[day].var(), rel=0.12), day


@pytest.mark.parametrize("about", [6, 15, 30])
@pytest.mark.parametrize("name", sorted(WORLDS))
def test_the_day_a_batch_is_spent_is_that_of_the_drawn_futures(name, about):
    case = a_case(name)
    held = a_batch(case.course.mean[about])
    found = passage(case.course, held, ZONE)
    drawn = reached_by_day(case.area, held.rooms[CAPACITY].mm2)
    assert_close(list(found.reached), drawn)
    numbers = [first_day(np.array(found.reached), chance) for chance in (0.1, 0.5, 0.9)]
    days = [number if number is None else case.course.day(number) for number in numbers]
    assert [found.p10, found.p50, found.p90] == days
    assert found.first_limit[CAPACITY] == pytest.approx(found.reached[-1], abs=1e-4)


@pytest.mark.parametrize("name", ["some of each", "not booked yet"])
def test_age_ends_what_use_has_not_and_each_has_its_chance(name):
    case = a_case(name)
    held = a_batch(case.course.mean[15], age_days=16.5)  # on a Wednesday evening
    found = passage(case.course, held, ZONE)
    drawn = reached_by_day(case.area, held.rooms[CAPACITY].mm2)
    too_old = (held.age_ends_at.astimezone(ZONE).date() - TODAY).days
    by_use = drawn[too_old - 1]
    assert 0.3 < by_use < 0.9
    drawn[too_old:] = 1
    assert_close(list(found.reached), drawn)
    assert found.first_limit[CAPACITY] == pytest.approx(by_use, abs=WITHIN)
    assert found.first_limit[AGE] == pytest.approx(1 - by_use, abs=WITHIN)


def test_age_comes_first_where_little_is_used():
    case = a_case("walk-ins alone")
    held = a_batch(case.course.mean[70], age_days=9)
    found = passage(case.course, held, ZONE)
    drawn = reached_by_day(case.area, held.rooms[CAPACITY].mm2)
    assert drawn[9] < 0.02
    assert found.p10 == found.p50 == found.p90 == TODAY + timedelta(days=9)
    assert found.first_limit[AGE] > 0.98


@pytest.mark.parametrize("name", ["some of each", "one prints most", "not booked yet"])
def test_silver_of_a_replenished_fixer_reaches_its_limit_when_its_equation_does(name):
    # scipy.integrate.solve_ivp says what silver each area makes: dAg/dA = (σ − r·Ag)/V
    case = a_case(name)
    sigma, rate, limit = 0.95, 0.45, 1.8
    litres = round(case.course.mean[20] / 1e6 * rate / 1.5, 1)
    settings = BathSettings(
        round(litres * PL_PER_L),
        MACHINE,
        rate_ul_per_m2=450_000,
        unit_pl=PL_PER_L // 1000,
        silver_ug_per_m2=950_000,
        silver_limit_ug_per_l=1_800_000,
    )
    held = _stood(settings, 12)
    begun = held.standing.silver_ug_per_l / 1e6
    metres = np.linspace(0, case.area.sum(axis=0).max() / 1e6, 4000)
    solved = solve_ivp(
        lambda _a, ag: [(sigma - rate * ag[0]) / litres], (0, metres[-1]), [begun], t_eval=metres, rtol=1e-9, atol=1e-9
    )
    silver = np.interp(np.cumsum(case.area, axis=0) / 1e6, metres, solved.y[0])
    assert_close(list(passage(case.course, held, ZONE).reached), (silver >= limit).mean(axis=1))
    assert set(held.rooms) == {SILVER}


@pytest.mark.parametrize("idle", [0, 1])
def test_turnovers_are_reached_when_sheets_and_idle_days_have_asked_for_them(idle):
    case = a_case("not booked yet")
    asked = case.course.mean[20] * 240_000
    settings = BathSettings(
        round(asked / 2),
        MACHINE,
        rate_ul_per_m2=240_000,
        unit_pl=PL_PER_L // 100,
        turnover_limit=Decimal(2),
        idle_pl_per_day=round(idle * asked / 60),
    )
    held = _stood(settings, 12)
    to_come = 2 * settings.volume_pl - held.standing.due_pl
    drawn = reached_by_day(case.area, to_come / 240_000, idle=settings.idle_pl_per_day / 240_000)
    assert_close(list(passage(case.course, held, ZONE).reached), drawn)
    assert set(held.rooms) == {TURNOVERS}


def test_with_two_limits_the_nearer_one_is_named():
    case = a_case("some of each")
    settings = BathSettings(
        3 * PL_PER_L,
        BATCH,
        capacity_mm2_per_l=round(case.course.mean[15] / 3),
        silver_ug_per_m2=500_000,
        silver_limit_ug_per_l=round(case.course.mean[25] / 1e6 * 500_000 / 3),
    )
    held = _stood(settings, 5)
    assert set(held.rooms) == {CAPACITY, SILVER}
    assert set(passage(case.course, held, ZONE).first_limit) == {CAPACITY}


def test_the_futures_are_many_and_the_comparison_would_see_a_wrong_variance():
    case = a_case("some of each")
    assert case.area.shape == (DEEP + 1, PATHS)
    held = a_batch(case.course.mean[15])
    drawn = reached_by_day(case.area, held.rooms[CAPACITY].mm2)
    for factor in (0.6, 1.7):
        off = replace(case.course, variance=[factor * one for one in case.course.variance])
        with pytest.raises(AssertionError):
            assert_close(list(passage(off, held, ZONE).reached), drawn)
    late = replace(case.course, mean=[0.9 * one for one in case.course.mean])
    with pytest.raises(AssertionError):
        assert_close(list(passage(late, held, ZONE).reached), drawn)


def test_the_chance_of_an_area_is_that_of_scipys_gamma():
    # scipy.stats.gamma
    for mean, var, area in ((2e6, 4e11, 1.5e6), (5e4, 1e10, 3e5), (8e6, 1e11, 9e6)):
        assert chance_of(mean, var, area) == pytest.approx(gamma.sf(area, mean**2 / var, scale=var / mean), rel=1e-10)
    assert (chance_of(2e6, 4e11, 0), chance_of(0, 0, 1)) == (1, 0)
    assert (chance_of(2.0, 0.0, 2), chance_of(2.0, 0.0, 3)) == (1, 0)
