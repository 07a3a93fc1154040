"""How the house writes: hours of 24 or 12, metric or inch, days as the language writes them."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone, translation

from studiodesk import dates, manner, sizes
from studiodesk.answers import Refusal
from studiodesk.manner import Manner
from studiodesk.units import Edge
from studiodesk.words import fact_words, say

TWELVE, INCHES = Manner(half_days=True), Manner(inches=True)


@pytest.mark.parametrize("minute", range(0, 1440, 7))
def test_the_clock_of_twelve_is_that_of_the_c_library(minute):
    """POSIX ``strftime`` with %I and %p is the outside reference, in English."""
    at = time(minute // 60, minute % 60)
    expected = at.strftime("%I:%M %p").lower().removeprefix("0")
    with translation.override("en-gb"), manner.override(TWELVE):
        assert dates.clock(at) == expected
    assert dates.clock(at) == at.strftime("%H:%M")


def test_the_end_of_a_day_is_midnight_and_the_hours_of_a_scale_are_short():
    assert dates.clock_of_minutes(1440) == "24:00" and dates.hour_mark(9) == "09"
    with manner.override(TWELVE):
        assert dates.clock_of_minutes(1440) == "midnight" and dates.clock_of_minutes(0) == "12:00 am"
        assert [dates.hour_mark(hour) for hour in (0, 9, 12, 23)] == ["12 am", "9 am", "12 pm", "11 pm"]


def test_a_manner_ends_with_its_block_also_when_the_block_fails():
    with pytest.raises(ZeroDivisionError), manner.override(TWELVE):
        raise ZeroDivisionError
    assert manner.current() == Manner()


def test_a_moment_is_written_in_the_studio_s_zone():
    at = datetime(2026, 11, 27, 23, 30, tzinfo=UTC)
    with timezone.override(ZoneInfo("Europe/Amsterdam")):
        assert dates.clock(at) == "00:30" and dates.written(at) == "Saturday 28 November 2026"
    assert dates.written(None) == "" and dates.clock(None) == ""


def test_german_writes_days_with_its_points():
    with translation.override("de"):
        assert dates.written(date(2026, 11, 27)) == "Freitag, 27. November 2026"
        assert dates.written(date(2026, 3, 3), "D j M") == "Di, 3. Mär"
        assert [dates.written(date(2026, 3, 3), one) for one in ("l j F", "j F Y", "j F", "j M Y", "j M", "j")] == [
            "Dienstag, 3. März",
            "3. März 2026",
            "3. März",
            "3. Mär 2026",
            "3. Mär",
            "3.",
        ]


def test_areas_and_edges_are_those_of_the_international_foot():
    """1 ft = 304.8 mm exactly (NIST SP 811, appendix B.8): 1 m² = 10.763 910 4 ft²; 8 × 10 in = 203.2 × 254 mm."""
    assert sizes.area_words(1_000_000, 2) == "1.00 m²" and sizes.edges_words(203, 254) == "203 × 254 mm"
    with manner.override(INCHES):
        assert sizes.area_words(1_000_000, 7) == "10.7639104 ft²"
        assert sizes.edges_words(203, 254) == "7.99 × 10 in" and sizes.edge_words(508) == "20 in"
        assert sizes.run_words(1524) == "60 in" and sizes.area_unit() == "ft²"
    assert sizes.run_words(1500) == "1.5 m"


def test_a_refusal_says_edges_as_the_house_writes_them():
    refusal = Refusal(
        "chemistry.too_wide", {"sheet": "20×24", "edge": Edge(508), "feed": Edge(406), "processor": "Colour"}
    )
    assert say(refusal).sentence == "20×24 is 508 mm across; Colour takes 406 mm at most."
    with manner.override(INCHES):
        assert say(refusal).sentence == "20×24 is 20 in across; Colour takes 15.98 in at most."


def test_facts_are_said_by_the_clock_of_the_house():
    at = datetime(2026, 11, 27, 14, 45, tzinfo=UTC)
    with timezone.override(UTC), manner.override(TWELVE):
        assert fact_words(at) == "Friday 27 November 2:45 pm"
        assert fact_words(timedelta(minutes=75)) == "1 h 15 min"
