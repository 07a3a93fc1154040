"""Days and times of classes, over clock changes too, and what a class needs by its heads."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil import rrule

from studiodesk.answers import Refusal
from studiodesk.classes.rules import dates
from studiodesk.timekeeping import Span

ZONE = ZoneInfo("Europe/Amsterdam")
EVENING, THREE = time(19, 0), timedelta(hours=3)


def utc(*parts: int) -> datetime:
    return datetime(*parts, tzinfo=UTC)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("day", "hour"),
    [(date(2026, 10, 24), 17), (date(2026, 10, 25), 18), (date(2027, 3, 27), 18), (date(2027, 3, 28), 17)],
)
def test_an_evening_begins_at_its_wall_clock_time_whatever_utc_does(day: date, hour: int) -> None:
    at = utc(day.year, day.month, day.day, hour)
    assert dates.span_on(day, EVENING, THREE, ZONE) == Span(at, at + THREE)


def test_a_night_over_the_clock_change_is_as_long_as_it_says() -> None:
    found = dates.span_on(date(2026, 10, 24), time(23, 0), timedelta(hours=5), ZONE)
    assert found.ends.astimezone(ZONE).strftime("%H:%M") == "03:00" and found.length == timedelta(hours=5)


def test_a_time_that_the_clock_jumps_over_is_refused() -> None:
    refused = dates.spans([date(2027, 3, 28)], time(2, 30), THREE, ZONE)
    assert isinstance(refused, Refusal) and refused.code == "classes.no_such_time"


@pytest.mark.parametrize(("weeks", "times"), [(1, 6), (2, 4), (4, 13)])
def test_every_so_many_weeks_is_what_the_rule_of_rfc_5545_gives(weeks: int, times: int) -> None:
    """dateutil's rrule, an implementation of the recurrence rules of RFC 5545."""
    first = date(2026, 10, 1)
    rule = rrule.rrule(rrule.WEEKLY, interval=weeks, count=times, dtstart=datetime(2026, 10, 1))
    assert dates.every_weeks(first, weeks, times) == [moment.date() for moment in rule]


@pytest.mark.parametrize(
    ("days", "meetings", "refused"),
    [
        ([date(2026, 11, 5)], 1, None),
        ([date(2026, 11, 1)], 1, None),
        ([date(2026, 10, 31)], 1, "classes.day_past"),
        ([date(2026, 11, 5)], 2, "classes.wrong_number_of_dates"),
        ([date(2026, 11, 5), date(2026, 11, 5)], 2, "classes.same_day_twice"),
    ],
)
def test_the_days_of_a_run(days: list[date], meetings: int, refused: str | None) -> None:
    found = dates.days_refusal(days, date(2026, 11, 1), meetings)
    assert (found.code if found else None) == refused


@pytest.mark.parametrize(("heads", "each", "stations"), [(8, 2, 4), (7, 2, 4), (8, 1, 8), (1, 4, 1), (0, 2, 0)])
def test_so_many_heads_need_so_many_stations(heads: int, each: int, stations: int) -> None:
    assert dates.stations_for(heads, each) == stations


def test_paper_of_a_class_by_hand() -> None:
    """8 people, each 4 sheets of 203 × 254 mm and 1 of 305 × 406 mm: 8 × (4 × 51,562 + 123,830) mm² = 2.64 m²."""
    papers = [dates.PaperNeed(203, 254, 4), dates.PaperNeed(305, 406, 1)]
    assert dates.paper_area(papers, 8) == 8 * (4 * 51_562 + 123_830) == 2_640_624


def test_one_supervisor_for_every_eight() -> None:
    assert [dates.supervisors_needed(n, 8) for n in (1, 8, 9, 20, 24)] == [1, 1, 2, 3, 3]
