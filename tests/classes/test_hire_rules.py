"""Groups that hire: enough look after them, somebody answers for them, and times that can be.  No database."""

from __future__ import annotations

import dataclasses
from datetime import date, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from studiodesk.answers import Refusal
from studiodesk.classes.rules.hires import Group, group_refusal, spans_of

ZONE = ZoneInfo("Europe/Amsterdam")
SCHOOL = Group("Vlietschool", "Noor Vos", "noor@example.org", "+31 6 1234567", 6, 1, 8)


@pytest.mark.parametrize(
    ("heads", "ratio", "supervisors", "code"),
    [
        (20, 8, 2, "classes.too_few_supervisors"),
        (20, 8, 3, None),
        (16, 8, 2, None),
        (17, 8, 2, "classes.too_few_supervisors"),
        (1, 8, 0, "classes.too_few_supervisors"),
        (20, None, 0, None),
        (0, None, 0, "classes.hire_no_heads"),
    ],
)
def test_enough_look_after_them(heads, ratio, supervisors, code) -> None:
    group = dataclasses.replace(SCHOOL, heads=heads, heads_a_supervisor=ratio, supervisors=supervisors)
    found = group_refusal(group)
    assert (found and found.code) == code
    if code == "classes.too_few_supervisors":
        assert found.facts["needed"] == -(-heads // ratio)


def test_somebody_answers_for_them() -> None:
    assert group_refusal(SCHOOL) is None
    found = group_refusal(dataclasses.replace(SCHOOL, contact_email=" "))
    assert found is not None and found.code == "classes.hire_no_contact"


@pytest.mark.parametrize(
    ("first", "nights", "begins", "ends", "hours"),
    [
        (date(2026, 12, 9), 0, time(9), time(12), 3),
        (
            date(2026, 10, 24),
            2,
            time(18),
            time(18),
            49,
        ),  # the clock goes back on 25 October 2026 (Directive 2000/84/EC)
        (date(2027, 3, 27), 1, time(18), time(18), 23),  # and forward on 28 March 2027
        (date(2026, 12, 9), 42, time(9), time(18), 42 * 24 + 9),
    ],
)
def test_from_the_first_day_to_the_last_by_the_wall_clock(first, nights, begins, ends, hours) -> None:
    found = spans_of([first], begins, ends, nights, date(2026, 1, 1), ZONE)
    assert not isinstance(found, Refusal) and [one.ends - one.starts for one in found] == [timedelta(hours=hours)]
    assert found[0].starts.astimezone(ZONE).time() == begins and found[0].ends.astimezone(ZONE).time() == ends


@pytest.mark.parametrize(
    ("first", "nights", "begins", "code"),
    [
        (date(2025, 12, 31), 0, time(9), "classes.day_past"),
        (date.max, 0, time(9), "classes.too_far_ahead"),
        (date(2026, 12, 9), 184, time(9), "classes.kept_too_long"),
        (date(2027, 3, 28), 0, time(2, 30), "classes.no_such_time"),
    ],
)
def test_times_that_cannot_be_are_named(first, nights, begins, code) -> None:
    found = spans_of([first], begins, time(12), nights, date(2026, 1, 1), ZONE)
    assert isinstance(found, Refusal) and found.code == code
