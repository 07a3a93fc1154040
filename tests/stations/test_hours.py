"""Opening hours, ready time and last sheet in, on ordinary days and on both clock changes of 2026."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from studiodesk.stations.rules import (
    Hours,
    Shut,
    fewer_places,
    heats,
    last_sheet_in,
    open_around,
    open_spans,
    ready_time,
    soonest_warm,
)
from studiodesk.timekeeping import Span

ZONE = ZoneInfo("Europe/Amsterdam")
# Directive 2000/84/EC: summer time begins and ends at 01:00 UTC on the last Sundays of March and October.
SPRING, AUTUMN = date(2026, 3, 29), date(2026, 10, 25)
HOURS = Hours({1: [(780, 1320)], 6: [(0, 1440)], 5: [(1080, 1440)]})


def utc(*parts: int) -> datetime:
    return datetime(*parts, tzinfo=UTC)


def test_an_ordinary_tuesday_opens_by_the_wall_clock() -> None:
    assert open_spans(date(2026, 11, 24), HOURS, ZONE) == [Span(utc(2026, 11, 24, 12), utc(2026, 11, 24, 21))]
    assert open_spans(date(2026, 7, 7), HOURS, ZONE) == [Span(utc(2026, 7, 7, 11), utc(2026, 7, 7, 20))]


def test_a_day_that_is_missing_from_the_week_is_closed() -> None:
    assert open_spans(date(2026, 11, 23), HOURS, ZONE) == []


@pytest.mark.parametrize(("day", "hours"), [(SPRING, 23), (AUTUMN, 25), (date(2026, 11, 22), 24)])
def test_a_day_open_from_midnight_to_midnight_is_as_long_as_the_day(day: date, hours: int) -> None:
    (span,) = open_spans(day, HOURS, ZONE)
    assert span.length == timedelta(hours=hours)


def test_a_span_that_lies_in_the_missing_hour_is_not_there() -> None:
    night = Hours({6: [(120, 180)]})
    assert open_spans(SPRING, night, ZONE) == []
    assert [span.length for span in open_spans(AUTUMN, night, ZONE)] == [timedelta(hours=2)]


def test_an_opening_in_the_missing_hour_moves_forward_by_the_gap() -> None:
    (span,) = open_spans(SPRING, Hours({6: [(150, 600)]}), ZONE)
    assert span == Span(utc(2026, 3, 29, 1, 30), utc(2026, 3, 29, 8))  # 02:30 is read as 03:30 summer time


def test_both_dates_of_a_closure_are_closed_and_the_days_beside_it_are_not() -> None:
    every_day = Hours({n: [(600, 720)] for n in range(7)}, (Shut(date(2026, 12, 24), date(2026, 12, 26), "rest"),))
    open_days = [date(2026, 12, n) for n in range(22, 29) if open_spans(date(2026, 12, n), every_day, ZONE)]
    assert open_days == [date(2026, 12, n) for n in (22, 23, 27, 28)]
    assert every_day.closed_because(date(2026, 12, 26)) == "rest"
    assert every_day.closed_because(date(2026, 12, 27)) is None


def test_opening_until_midnight_runs_on_into_a_day_that_opens_at_midnight() -> None:
    saturday = date(2026, 11, 21)
    assert [span.length for span in open_around(saturday, saturday + timedelta(days=1), HOURS, ZONE)] == [
        timedelta(hours=30)
    ]


@pytest.mark.parametrize("day", [SPRING, AUTUMN, date(2026, 11, 22)])
def test_ready_time_and_last_sheet_in_are_reckoned_from_opening_and_closing(day: date) -> None:
    (span,) = open_spans(day, Hours({6: [(30, 600)]}), ZONE)
    assert ready_time(span, timedelta(minutes=45)) == span.starts + timedelta(minutes=45)
    last = last_sheet_in(span.ends, timedelta(minutes=6), timedelta(minutes=20))
    assert last.astimezone(ZONE).strftime("%H:%M") == "09:34"


def test_a_cold_machine_needs_warm_up_and_one_test_print() -> None:
    now = utc(2026, 11, 24, 14)
    assert soonest_warm(now, timedelta(minutes=45), timedelta(minutes=6), []) == utc(2026, 11, 24, 14, 51)


def test_a_machine_heated_for_somebody_is_warm_from_the_start_of_that_booking() -> None:
    now, warm, dry = utc(2026, 11, 24, 14), timedelta(minutes=45), timedelta(minutes=6)
    assert soonest_warm(now, warm, dry, [utc(2026, 11, 24, 13)]) is None
    assert soonest_warm(now, warm, dry, [utc(2026, 11, 24, 14, 30)]) == utc(2026, 11, 24, 14, 30)
    assert soonest_warm(now, warm, dry, [utc(2026, 11, 24, 19)]) == utc(2026, 11, 24, 14, 51)


@pytest.mark.parametrize(
    ("began", "somebody_came", "expected"),
    [(-60, False, True), (0, False, True), (59, False, True), (60, False, False), (60, True, True), (300, True, True)],
)
def test_a_booking_to_which_nobody_came_heats_nothing_an_hour_after_it_began(
    began: int, somebody_came: bool, expected: bool
) -> None:
    now = utc(2026, 11, 24, 19)
    starts = now - timedelta(minutes=began)
    assert heats(starts, starts if somebody_came else None, now) is expected


def test_a_place_that_is_held_later_on_cannot_be_taken_away() -> None:
    refusal = fewer_places([utc(2026, 11, 24), utc(2026, 11, 25)], 2, "RC")
    assert refusal is not None
    assert (refusal.code, refusal.facts["until"]) == ("stations.place_is_held", utc(2026, 11, 25))
    assert fewer_places([], 2, "RC") is None
