"""Does what is foretold come about as often as it says?  On simulated studios that know nothing of the model.

Every seed is named: a studio is the same in each run.  The coverages are counts of so many replicates, each from a
studio of its own; their standard error is allowed for in ``calibrating.misses``.  The full table, 2,000 replicates a
line, is printed by ``python -m tests.planning.scenarios``; here are as many as a test may take time for.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from functools import cache

import numpy as np
import pytest
from scipy.stats import gamma

from studiodesk.planning.rules.course import courses
from studiodesk.planning.rules.usage import TUNING, Tuning

from .calibrating import BANDS, HORIZONS, Coverage, Told, came, coverage, known, misses, said, shortfalls
from .scenarios import (
    NEW,
    NO_HALF_LIFE,
    NO_MEMBERS,
    PROJECTS,
    RISE,
    SEASONS,
    STEADY,
    STEPS,
    WALK_INS,
    Scenario,
    replicate,
    run,
    walks,
)

#: 2,000 studios in all; the longer the history, the longer it takes to simulate it.
STEADY_SEEDS = dict(zip(STEADY, (range(50_001, 50_901), range(60_001, 60_701), range(70_001, 70_401)), strict=True))
HARD_SEEDS = range(80_001, 80_201)
WALKED_SEEDS = range(40_001, 40_026)


@cache
def hard(scenario: Scenario, mutant: Tuning) -> dict[Tuning, Coverage]:
    """One set of studios, foretold by the model and by one that lacks a part."""
    found = run(scenario, HARD_SEEDS, TUNING, mutant)
    return {tuning: coverage(one) for tuning, one in zip((TUNING, mutant), found, strict=True)}


def listed(scenario: Scenario, covered: Coverage) -> str:
    return "\n".join(["", *said(scenario.name, covered)])


@pytest.mark.parametrize("scenario", STEADY, ids=lambda scenario: scenario.name)
def test_steady_studios_come_out_inside_as_often_as_was_said(scenario):
    covered = coverage(run(scenario, STEADY_SEEDS[scenario])[0])
    assert misses(covered) == [], listed(scenario, covered)


MUTANTS = {"the member level": (PROJECTS, NO_MEMBERS), "the half-life": (RISE, NO_HALF_LIFE)}


@pytest.mark.parametrize("part", MUTANTS)
def test_hard_studios_come_out_inside_the_80_percent_band_seven_times_in_ten(part):
    scenario, mutant = MUTANTS[part]
    covered = hard(scenario, mutant)[TUNING]
    assert shortfalls(covered) == [], listed(scenario, covered)


@pytest.mark.parametrize("part", MUTANTS)
def test_the_same_calibration_fails_without(part):
    scenario, mutant = MUTANTS[part]
    covered = hard(scenario, mutant)[mutant]
    assert len(shortfalls(covered)) == len(HORIZONS), listed(scenario, covered)


def test_a_house_whose_calendar_has_just_opened_comes_out_inside_seven_times_in_ten():
    """Of what will be booked early nothing can stand in the calendar yet; that is no sign of little demand."""
    covered = coverage(run(NEW, range(30_001, 30_201))[0])
    assert shortfalls(covered) == [], listed(NEW, covered)


def test_what_walk_ins_bring_comes_out_inside_as_often_as_was_said():
    covered = coverage(run(WALK_INS, range(20_001, 20_801))[0])
    assert misses(covered) == [], listed(WALK_INS, covered)


@pytest.mark.parametrize("scenario", [SEASONS, *STEPS], ids=lambda scenario: scenario.name)
def test_through_seasons_and_steps_the_widened_band_holds_seven_times_in_ten(scenario):
    found = walks(scenario, WALKED_SEEDS)
    covered = coverage([one.told for one in found])
    assert shortfalls(covered) == [], listed(scenario, covered)
    assert max(one.widened for one in found) > 1.2  # else nothing was widened, and nothing shown of it


# --- the instrument itself ------------------------------------------------------------------------------------------


def foretold(spread: float) -> list[Told]:
    """2,000 replicates whose truth is the Gamma that was foretold, but for a standard deviation ``spread`` as wide."""
    generator = np.random.default_rng(11)
    mean, shape = 3e6, 4.0
    # The shape of a gamma is (mean / standard deviation) squared (scipy.stats.gamma).
    drawn = gamma.rvs(shape / spread**2, scale=mean * spread**2 / shape, size=(2000, 3), random_state=generator)
    return [Told([mean] * 3, [mean**2 / shape] * 3, [round(area) for area in row], 20) for row in drawn]


def test_a_forecast_that_is_right_passes():
    assert misses(coverage(foretold(1.0))) == []


@pytest.mark.parametrize("spread", [0.85, 1.2])
def test_a_forecast_too_wide_or_too_narrow_is_found(spread):
    covered = coverage(foretold(spread))
    assert {line.split(":")[0] for line in misses(covered)} >= {f"{day} days, 80%" for day in HORIZONS}


def test_half_the_standard_deviation_is_too_little_even_where_the_world_shifts():
    assert shortfalls(coverage(foretold(1.0))) == []
    assert len(shortfalls(coverage(foretold(2.0)))) == len(HORIZONS)


def test_every_band_of_every_horizon_is_counted():
    covered = coverage(foretold(1.0))
    assert set(covered.inside) == {(day, band) for day in HORIZONS for band in BANDS}
    # √(0.8·0.2/2000), the binomial's standard error
    assert covered.error(0.8) == pytest.approx(0.0089443, abs=1e-6)


def test_nothing_that_comes_later_reaches_the_forecast():
    """The same studio, its future taken away: bookings made, cancelled and fed later, walk-ins to come."""
    for seed in range(1, 6):
        studio, at = replicate(STEADY[1], seed)
        past = [
            one._replace(
                cancelled_at=one.cancelled_at if one.cancelled_at and one.cancelled_at <= at else None,
                arrived_at=one.arrived_at if one.arrived_at and one.arrived_at <= at else None,
                fed=tuple(line for line in one.fed if line.at <= at),
            )
            for one in studio.bookings
            if one.made_at <= at
        ]
        bare = replace(studio, bookings=tuple(past), walk_ins=tuple(line for line in studio.walk_ins if line.at <= at))
        assert len(past) < len(studio.bookings)
        assert courses(known(bare, at)) == courses(known(studio, at))
        assert sum(came(bare, studio.machines[0].code, at)) == 0 < sum(came(studio, studio.machines[0].code, at))


def test_what_came_is_the_area_until_the_end_of_the_local_day():
    studio, at = replicate(STEADY[1], 3)
    processor = studio.machines[0].code
    today = at.astimezone(studio.zone).date()
    through = [line for line in studio.sheets_through() if line.processor == processor and line.at > at]
    for day, area in zip((1, 7, 28), came(studio, processor, at, (1, 7, 28)), strict=True):
        last = today + timedelta(days=day - 1)
        assert area == sum(line.area_mm2 for line in through if line.at.astimezone(studio.zone).date() <= last)
