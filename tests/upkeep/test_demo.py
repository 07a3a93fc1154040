"""The demo shows something worth looking at, at any minute of any day."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.bookings.models import Booking, Hold
from studiodesk.chemistry import queries as baths
from studiodesk.stations import queries as stations
from studiodesk.stations import rules as hours_rules
from studiodesk.timekeeping import Span, is_missing, week_shifted
from studiodesk.upkeep.demo import build, hours, shifting

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "ostermill"
ZONE = ZoneInfo("Europe/Amsterdam")
MOMENTS = {
    "an ordinary Friday afternoon": datetime(2026, 11, 27, 15, 3, tzinfo=UTC),
    "a closed Monday in the small hours": datetime(2026, 12, 7, 2, 12, 41, tzinfo=UTC),
    "two minutes before midnight on a Sunday": datetime(2027, 1, 3, 22, 58, tzinfo=UTC),
    "just after midnight": datetime(2026, 11, 25, 23, 1, tzinfo=UTC),
    "the hour that the clock jumps over": datetime(2027, 3, 28, 1, 0, tzinfo=UTC),
    "the hour that comes twice": datetime(2027, 10, 31, 1, 20, tzinfo=UTC),
}


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
@pytest.mark.parametrize("now", MOMENTS.values(), ids=MOMENTS.keys())
def test_the_demo_has_people_in_one_late_baths_that_want_something_and_a_full_evening(
    db: Any, clock_at: Any, now: datetime
) -> None:
    with clock_at(now):
        demo = build(now=now, example=EXAMPLE, seed=7)
        here = Booking.objects.filter(
            cancelled_at=None, starts__lte=now, ends__gt=now, arrived_at__isnull=False, left_at=None
        )
        assert here.count() >= 2
        late = Booking.objects.filter(cancelled_at=None, starts__lt=now, ends__gt=now, arrived_at=None)
        assert late.count() >= 1
        lines = baths.standings(now)
        assert [line for line in lines if line.word == "tired"]
        assert [line for line in lines if line.replenishment_due]
        assert evening_is_full(now)

        client = Client()
        assert client.login(email=demo.cast.keyholder.email, password=demo.password)
        page = client.get("/desk/").content.decode()
        assert late[0].member.name in page and "<b>Give " in page and "Change soon:" in page
        for role, email in demo.cast.log_ins():
            assert Client().login(email=email, password=demo.password), role


def evening_is_full(now: datetime) -> bool:
    """In some two hours of the next day and a half every booth of some kind of process is taken."""
    booths = [station for station in stations.stations() if station.processes.all()]
    lanes = {lane for booth in booths for lane in booth.resource.lanes.values_list("pk", flat=True)}
    for quarter in range(36 * 4):
        starts = now + quarter * timedelta(minutes=15)
        taken = Hold.objects.filter(lane__in=lanes, starts__lt=starts + timedelta(hours=1), ends__gt=starts)
        if len(set(taken.values_list("lane", flat=True))) >= len(lanes) - 1 and starts > now + timedelta(minutes=30):
            return True
    return False


@given(st.datetimes(datetime(2026, 1, 1), datetime(2030, 1, 1), timezones=st.just(UTC)))
def test_the_lengthened_hours_hold_the_present_on_any_day(now: datetime) -> None:
    week = hours.lengthened({1: [(780, 1320)], 4: [(600, 1320)]}, now, ZONE)
    first = (now - timedelta(days=1)).date()
    opened = hours_rules.open_around(first, first + timedelta(days=3), hours_rules.Hours(week), ZONE)
    assert any(span.covers(Span(now - timedelta(hours=3), now + timedelta(hours=3))) for span in opened)


@given(st.integers(-200, 400), st.datetimes(datetime(2026, 8, 1), datetime(2026, 11, 24), timezones=st.just(UTC)))
def test_a_shifted_booking_stands_at_the_same_hour_of_the_same_weekday(weeks: int, moment: datetime) -> None:
    moment = moment.replace(second=0, microsecond=0)
    wall = moment.astimezone(ZONE).replace(tzinfo=None)
    target = wall + timedelta(weeks=weeks)
    moved = week_shifted(moment, weeks, ZONE).astimezone(ZONE).replace(tzinfo=None)
    if not is_missing(target, ZONE):
        assert moved == target
    assert moved.weekday() == wall.weekday()


@given(st.datetimes(datetime(2025, 1, 1), datetime(2030, 1, 1), timezones=st.just(UTC)))
def test_the_history_ends_within_the_last_week_and_never_after_now(now: datetime) -> None:
    last = datetime(2026, 11, 24, 20, 30, tzinfo=UTC)
    weeks = shifting.weeks_to(now, last, ZONE)
    moved = week_shifted(last, weeks, ZONE)
    assert timedelta(0) <= now - moved <= timedelta(days=7, hours=1)
