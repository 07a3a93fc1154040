"""Local days over the clock changes, against the IANA data by another road (dateutil) and the directive itself."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from dateutil import tz
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.timekeeping import (
    MissingTime,
    day_span,
    is_missing,
    localise,
    studio_day,
    week_shifted,
    whole_days_between,
)

AMSTERDAM = ZoneInfo("Europe/Amsterdam")
# Directive 2000/84/EC, articles 2 and 3: last Sunday of March and of October, at 01:00 UTC.
SPRING, AUTUMN = date(2026, 3, 29), date(2026, 10, 25)


@pytest.mark.parametrize(("day", "hours"), [(SPRING, 23), (AUTUMN, 25), (date(2026, 6, 1), 24)])
def test_a_local_day_is_23_24_or_25_hours_long(day: date, hours: int) -> None:
    assert day_span(day, AMSTERDAM).length == timedelta(hours=hours)


@pytest.mark.parametrize("day", [SPRING, AUTUMN, date(2026, 6, 1), date(2026, 12, 31)])
@pytest.mark.parametrize(("hour", "minute", "shift"), [(23, 30, 0), (0, 30, 0), (0, 0, 0)])
def test_the_studio_day_is_the_local_date_late_and_early(day: date, hour: int, minute: int, shift: int) -> None:
    moment = localise(datetime(day.year, day.month, day.day, hour, minute), AMSTERDAM)
    assert studio_day(moment, AMSTERDAM) == day
    assert day_span(day, AMSTERDAM).holds(moment)


def test_half_past_midnight_in_summer_is_still_yesterday_in_utc() -> None:
    moment = localise(datetime(2026, 7, 1, 0, 30), AMSTERDAM)
    assert moment.date() == date(2026, 6, 30)
    assert studio_day(moment, AMSTERDAM) == date(2026, 7, 1)


def test_a_missing_time_moves_forward_by_the_gap_and_a_form_refuses_it() -> None:
    naive = datetime(2026, 3, 29, 2, 30)
    assert is_missing(naive, AMSTERDAM)
    assert localise(naive, AMSTERDAM) == datetime(2026, 3, 29, 1, 30, tzinfo=UTC)
    with pytest.raises(MissingTime):
        localise(naive, AMSTERDAM, strict=True)


def test_a_time_that_happens_twice_is_the_first() -> None:
    naive = datetime(2026, 10, 25, 2, 30)
    assert not is_missing(naive, AMSTERDAM)
    assert localise(naive, AMSTERDAM, strict=True) == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)


@given(
    st.datetimes(datetime(2025, 1, 1), datetime(2027, 12, 31)),
    st.sampled_from(["Europe/Amsterdam", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu", "UTC"]),
)
def test_missing_and_local_times_agree_with_dateutil(naive: datetime, name: str) -> None:
    zone, other = ZoneInfo(name), tz.gettz(name)
    assert is_missing(naive, zone) == (not tz.datetime_exists(naive, other))
    if not is_missing(naive, zone):
        assert localise(naive, zone) == naive.replace(tzinfo=other, fold=0).astimezone(UTC)


@given(st.datetimes(datetime(2025, 1, 1), datetime(2027, 12, 31)), st.integers(-60, 60))
def test_whole_weeks_keep_the_wall_clock_and_the_weekday(naive: datetime, weeks: int) -> None:
    moment = localise(naive, AMSTERDAM)
    before = moment.astimezone(AMSTERDAM).replace(tzinfo=None)
    after = week_shifted(moment, weeks, AMSTERDAM).astimezone(AMSTERDAM).replace(tzinfo=None)
    assert after.weekday() == before.weekday()
    gap = after - (before + timedelta(weeks=weeks))
    assert gap in (timedelta(0), timedelta(hours=1))  # an hour only when that wall time is missing


def test_whole_days_between_leaves_out_both_ends() -> None:
    assert whole_days_between(date(2026, 11, 1), date(2026, 11, 1)) == 0
    assert whole_days_between(date(2026, 11, 1), date(2026, 11, 2)) == 0
    assert whole_days_between(date(2026, 11, 1), date(2026, 11, 5)) == 3
    assert whole_days_between(date(2026, 11, 5), date(2026, 11, 1)) == 0
