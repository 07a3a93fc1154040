"""Waits after failures, roles, numbers, codes and addresses: no database."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.people import rules

T = datetime(2026, 11, 25, 14, 0, tzinfo=UTC)


def every(seconds, times):
    return [T + timedelta(seconds=seconds * n) for n in range(times)]


def test_four_failures_cost_no_wait_and_the_fifth_within_15_minutes_costs_15_seconds():
    assert rules.wait_until(every(10, 4)) is None
    assert rules.wait_until(every(10, 5)) == T + timedelta(seconds=40 + 15)


def test_five_failures_over_more_than_15_minutes_cost_no_wait():
    # The first is exactly 15 minutes old when the fifth comes: no longer within the quarter of an hour.
    assert rules.wait_until(every(225, 5)) is None
    assert rules.wait_until(every(224, 5)) is not None


def test_each_failure_after_a_wait_doubles_it_up_to_an_hour():
    failures, waits = every(1, 5), []
    for _ in range(12):
        until = rules.wait_until(failures)
        waits.append((until - failures[-1]).total_seconds())
        failures.append(until)
    assert waits == [15, 30, 60, 120, 240, 480, 960, 1920, 3600, 3600, 3600, 3600]


def test_a_quarter_of_an_hour_after_the_wait_a_failure_begins_anew():
    failures = every(1, 5)
    until = rules.wait_until(failures)
    assert rules.wait_until([*failures, until + timedelta(minutes=15)]) is None
    assert rules.wait_until([*failures, until + timedelta(minutes=15, seconds=-1)]) is not None


@given(st.lists(st.integers(0, 3600), max_size=40))
def test_a_guesser_who_heeds_the_wait_gets_at_most_a_dozen_tries_an_hour(gaps):
    """Whatever the pauses, tries that are let through stay few: five, then one a doubling wait."""
    failures, at = [], T
    for gap in gaps:
        until = rules.wait_until(failures)
        at = max(at + timedelta(seconds=gap), until or at)
        failures.append(at)
    for first in failures:
        within = [one for one in failures if first <= one < first + timedelta(minutes=15)]
        assert len(within) <= 4 + 7  # 4 free, then waits of 15 + 30 + … + 480 s pass in 945 s


def refusal(**change):
    facts = {
        "by_staff": True,
        "by_manager": False,
        "before": frozenset(),
        "after": frozenset(),
        "themselves": False,
    } | change
    found = rules.may_set_roles(**facts)
    return found and found.code


def test_staff_grant_tutor_and_keyholder_but_only_managers_make_staff():
    assert refusal(after=frozenset({"tutor", "keyholder"})) is None
    assert refusal(after=frozenset({"staff"})) == "people.only_managers"
    assert refusal(before=frozenset({"staff"})) == "people.only_managers"
    assert refusal(after=frozenset({"staff"}), by_manager=True) is None
    assert refusal(by_staff=False, after=frozenset({"tutor"})) == "people.not_yours_to_do"


def test_a_manager_cannot_take_the_role_from_themselves():
    both = frozenset({"staff", "manager"})
    assert refusal(before=both, by_manager=True, themselves=True) == "people.last_of_your_own"
    assert refusal(before=both, by_manager=True) is None


def test_the_next_number_is_written_as_the_greatest_is():
    assert rules.number_after([]) == "1"
    assert rules.number_after(["M009", "M010", "guest"]) == "M011"
    assert rules.number_after(["A-99", "B-0100"]) == "B-0101"
    assert rules.number_after(["9"]) == "10"


def test_a_code_is_read_however_it_was_typed():
    assert rules.tidy_code(" acdef-ghjkl ") == rules.tidy_code("ACDEF GHJKL") == "ACDEFGHJKL"
    assert rules.tidy_code(rules.spaced_code("ACDEFGHJKL")) == "ACDEFGHJKL"


@pytest.mark.parametrize("path", ["/", "/book/?station=E1&starts=2026-11-27T14:45", "/safety/P-RC/"])
def test_an_address_inside_this_site_is_gone_back_to(path):
    assert rules.is_local_path(path)


@pytest.mark.parametrize(
    "path",
    [
        "",
        "//example.org",
        "/\\example.org",
        "https://example.org/",
        "javascript:alert(1)",
        "/a\nb",
        "/a\\b",
        "day/",
        "/\t/x",
    ],
)
def test_an_address_elsewhere_is_not(path):
    assert not rules.is_local_path(path)


def test_sessions_last_12_hours_and_30_idle_minutes_for_staff_and_14_days_for_members():
    assert rules.session_limits(is_staff=True, is_keyholder=True) == (timedelta(hours=12), timedelta(minutes=30))
    assert rules.session_limits(is_staff=False, is_keyholder=True) == (timedelta(hours=12), None)
    assert rules.session_limits(is_staff=False, is_keyholder=False) == (timedelta(days=14), None)
