"""What came of a forecast: when the limit was met, whether inside the range, how much went through; and what it widens.

Shares are held against scipy's gamma distribution, an independent computation of the same quantity.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from statistics import NormalDist
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from studiodesk.planning.rules.score import (
    A_SHEET_MM2,
    MOST_WIDENED,
    Fed,
    Said,
    due_spans,
    outcome,
    shares,
    squared_miss,
    widening,
)
from tests.planning.evenings import AMSTERDAM, local

DAY = timedelta(days=1)
TODAY = date(2026, 11, 25)  # a Wednesday
COLOUR = ("P-CO", "dev")  # a batch of 4.8 m², 21 days: 94 sheets of 8×10 in
COURSE = [(1e6 * n, 2e11 * n) for n in range(1, 122)]


def said(**changed: Any) -> Said:
    usual = Said(local(TODAY, 3), TODAY, TODAY + 3 * DAY, TODAY + 9 * DAY, 5_000_000, None)
    return replace(usual, **changed)


def sheets(*days_and_areas: tuple[float, int]) -> Fed:
    return Fed([(local(TODAY, 24 * day + 18), area) for day, area in days_and_areas])


# --- one forecast and what came, without a database -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("came_on", "inside"), [(0, False), (2, False), (3, True), (6, True), (9, True), (10, False), (60, False)]
)
def test_a_limit_met_from_the_first_to_the_last_day_of_the_range_is_inside(came_on: int, inside: bool) -> None:
    through = sheets((came_on, 5_000_000))
    found = outcome(said(), through, TODAY + (came_on + 1) * DAY, AMSTERDAM)
    assert (found.matured, found.passed_on, found.was_inside) == (True, TODAY + came_on * DAY, inside)
    assert not outcome(said(), through, TODAY + came_on * DAY, AMSTERDAM).matured  # that day is not over


def test_the_sheet_that_fills_the_room_decides_and_one_square_millimetre_less_does_not() -> None:
    through = sheets((1, 3_000_000), (5, 1_999_999), (8, 1))
    assert outcome(said(), through, TODAY + 20 * DAY, AMSTERDAM).passed_on == TODAY + 8 * DAY
    assert outcome(said(room_mm2=4_999_999), through, TODAY + 20 * DAY, AMSTERDAM).passed_on == TODAY + 5 * DAY


def test_sheets_until_the_very_moment_of_the_forecast_were_counted_already() -> None:
    at = local(TODAY, 3)
    before = [(at - timedelta(hours=9), 9_000_000), (at, 5_000_000)]
    assert not outcome(said(), Fed(before), TODAY + 9 * DAY, AMSTERDAM).matured
    after = outcome(said(), Fed([*before, (at + timedelta.resolution, 5_000_000)]), TODAY + 9 * DAY, AMSTERDAM)
    assert after.passed_on == TODAY
    idling = said(idle_mm2=1_000_000)
    assert not outcome(idling, Fed(before), TODAY + 4 * DAY, AMSTERDAM).matured
    assert shares(at, TODAY, COURSE, [7], Fed(before), AMSTERDAM) == shares(at, TODAY, COURSE, [7], Fed([]), AMSTERDAM)


def test_age_ends_a_tank_that_use_has_not_ended() -> None:
    age = local(TODAY + 7 * DAY, 12)
    by_age = outcome(said(age_ends_at=age), sheets((1, 4_000_000), (8, 4_000_000)), TODAY + 20 * DAY, AMSTERDAM)
    assert (by_age.passed_on, by_age.was_inside) == (TODAY + 7 * DAY, True)
    by_use = outcome(said(age_ends_at=age), sheets((1, 4_000_000), (2, 4_000_000)), TODAY + 20 * DAY, AMSTERDAM)
    assert (by_use.passed_on, by_use.was_inside) == (TODAY + 2 * DAY, False)


def test_only_a_range_can_be_right_or_wrong() -> None:
    """An age that nothing comes before names one day, and what is beyond the horizon none: no merit of a forecast."""
    age = local(TODAY + 7 * DAY, 12)
    one_day = said(age_ends_at=age, room_mm2=None, p10=TODAY + 7 * DAY, p90=TODAY + 7 * DAY)
    found = outcome(one_day, sheets(), TODAY + 8 * DAY, AMSTERDAM)
    assert (found.matured, found.passed_on, found.was_inside) == (True, TODAY + 7 * DAY, None)
    nothing = said(p10=None, p90=None)
    found = outcome(nothing, sheets((5, 5_000_000)), TODAY + 20 * DAY, AMSTERDAM)
    assert (found.matured, found.passed_on, found.was_inside) == (True, TODAY + 5 * DAY, None)


def test_an_idle_day_takes_its_part_of_the_room_and_a_day_with_sheets_does_not() -> None:
    """1 m² of room an idle day: sheets on the second and fourth day, 5 m² are gone with the fifth."""
    through = sheets((1, 1_500_000), (3, 500_000))
    found = outcome(said(idle_mm2=1_000_000), through, TODAY + 20 * DAY, AMSTERDAM)
    assert (found.passed_on, found.was_inside) == (TODAY + 4 * DAY, True)
    assert not outcome(said(idle_mm2=999_999), through, TODAY + 5 * DAY, AMSTERDAM).matured
    assert outcome(said(idle_mm2=999_999), through, TODAY + 6 * DAY, AMSTERDAM).passed_on == TODAY + 5 * DAY
    assert not outcome(said(), through, TODAY + 20 * DAY, AMSTERDAM).matured
    # the day itself counts from the moment of the forecast, and a day that is not over has not idled yet
    early = Fed([(local(TODAY, 2), 4_000_000)])
    assert not outcome(said(idle_mm2=2_500_000), early, TODAY + DAY, AMSTERDAM).matured
    assert outcome(said(idle_mm2=2_500_000), early, TODAY + 2 * DAY, AMSTERDAM).passed_on == TODAY + DAY


@pytest.mark.parametrize(
    ("p10", "p90", "inside"), [(None, None, None), (TODAY + 90 * DAY, None, True), (TODAY, TODAY + 100 * DAY, False)]
)
def test_beyond_the_horizon_it_was_right_to_name_no_last_day(p10: Any, p90: Any, inside: bool | None) -> None:
    asked, through = said(p10=p10, p90=p90), sheets((125, 9_000_000))
    assert not outcome(asked, through, TODAY + 120 * DAY, AMSTERDAM).matured
    found = outcome(asked, through, TODAY + 121 * DAY, AMSTERDAM)
    assert (found.matured, found.passed_on, found.was_inside) == (True, None, inside)


def test_a_range_without_a_last_day_holds_what_comes_after_its_first() -> None:
    open_ended = said(p90=None)
    for day, inside in ((2, False), (3, True), (120, True)):  # the last day of the horizon is a day of it
        found = outcome(open_ended, sheets((day, 5_000_000)), TODAY + 121 * DAY, AMSTERDAM)
        assert (found.passed_on, found.was_inside) == (TODAY + day * DAY, inside)


@pytest.mark.parametrize("came", [200_000, 7_900_000, 8_000_000, 12_000_000])
def test_the_share_is_that_of_a_gamma_with_the_moments_of_that_day(came: int) -> None:
    """Against scipy.stats.gamma.  A span ends with its last local day."""
    through = sheets((0, came // 2), (7, came - came // 2), (8, 99_000_000))
    mean, variance = COURSE[7]
    assert shares(local(TODAY, 3), TODAY, COURSE, [7], through, AMSTERDAM) == {
        "7": pytest.approx(stats.gamma.cdf(came, mean**2 / variance, scale=variance / mean), abs=1e-9)
    }


def test_a_span_is_due_when_its_last_day_is_over_and_all_the_days_after() -> None:
    due = {days: due_spans(TODAY, TODAY + days * DAY) for days in (0, 7, 8, 14, 15, 28, 29, 90)}
    assert due == {0: [], 7: [], 8: [7], 14: [7], 15: [7, 14], 28: [7, 14], 29: [7, 14, 28], 90: [7, 14, 28]}
    assert shares(local(TODAY, 3), TODAY, COURSE[:10], [7, 14], sheets(), AMSTERDAM).keys() == {
        "7"
    }  # as far as it goes


def test_nothing_at_all_is_the_middle_of_what_is_under_one_sheet() -> None:
    found = shares(local(TODAY, 3), TODAY, [(1e5, 1e10)] * 121, [7], sheets(), AMSTERDAM)
    assert found["7"] == pytest.approx(stats.gamma.cdf(A_SHEET_MM2, 1, scale=1e5) / 2, abs=1e-9)


@given(st.lists(st.floats(0.001, 0.999), min_size=1, max_size=3), st.floats(1, 6))
def test_a_miss_is_in_squared_deviations_of_the_forecast_as_it_was_before_it_was_widened(
    under: list[float], widened: float
) -> None:
    found = squared_miss({str(n): share for n, share in enumerate(under)}, widened)
    expected = widened * sum(stats.norm.ppf(share) ** 2 for share in under) / len(under)
    assert found == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_misses_of_the_size_that_was_foretold_widen_nothing_and_greater_ones_by_as_much() -> None:
    assert widening([]) == widening([1.0] * 30) == 1.0
    assert widening([0.1] * 30) == 1.0  # it is never made narrower
    assert widening([4.0] * 6) == pytest.approx((6 + 24) / 12)
    assert widening([4.0] * 1000) == pytest.approx(4, rel=0.03)
    assert widening([50.0] * 20) == MOST_WIDENED
    assert squared_miss({}, 2.0) is None
    far = squared_miss({"7": 0.0}, 1.0)
    assert far is not None and far == pytest.approx(NormalDist().inv_cdf(1e-4) ** 2)
