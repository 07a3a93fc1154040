"""The grid is one of the studio's wall clock: whole steps since local midnight, whatever UTC does."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.bookings import actions, queries
from studiodesk.bookings.forms import length_choices, usual_length
from studiodesk.bookings.rules.asking import next_on_grid, on_grid
from studiodesk.bookings.rules.free_times import Candidate, Offer, Wish, offers_of_a_day
from studiodesk.stations import actions as stations
from studiodesk.timekeeping import Span
from tests import makers

# Offsets after the IANA time zone database: India 5:30, Nepal 5:45, Lord Howe Island 10:30 and 11:00 in summer.
ZONES = ["Asia/Kolkata", "Asia/Kathmandu", "Australia/Lord_Howe", "Europe/Amsterdam", "America/New_York"]
MINUTE = timedelta(minutes=1)


@given(
    st.datetimes(datetime(2026, 1, 1), datetime(2026, 12, 31)),
    st.sampled_from([5, 15, 20, 30, 45, 60, 90]),
    st.sampled_from(ZONES),
)
def test_the_next_grid_time_is_the_one_that_walking_minute_by_minute_finds(
    naive: datetime, minutes: int, name: str
) -> None:
    moment, grid, zone = naive.replace(tzinfo=UTC), timedelta(minutes=minutes), ZoneInfo(name)
    at = moment.replace(second=0, microsecond=0)
    if at < moment:
        at += MINUTE
    while not on_grid(at, grid, zone):
        at += MINUTE
    assert next_on_grid(moment, grid, zone) == at


@pytest.mark.parametrize("day", [date(2026, 3, 29), date(2026, 10, 25)])
@pytest.mark.parametrize("minutes", [15, 45, 60])
def test_over_a_clock_change_every_offer_begins_and_ends_on_the_grid(day: date, minutes: int) -> None:
    """Both changes of 2026 in the European Union (Directive 2000/84/EC)."""
    zone, grid = ZoneInfo("Europe/Amsterdam"), timedelta(minutes=minutes)
    midnight = datetime(day.year, day.month, day.day, tzinfo=zone).astimezone(UTC)
    opened = [Span(midnight, midnight + timedelta(hours=8))]
    offers = offers_of_a_day(opened, [Candidate(1, [])], Wish(2 * grid, grid, midnight, None, zone))
    got = [start for offer in offers for start in offer.starts(grid)]
    walked = [midnight + n * MINUTE for n in range(8 * 60)]
    assert got == [
        at
        for at in walked
        if on_grid(at, grid, zone) and on_grid(at + 2 * grid, grid, zone) and at + 2 * grid <= opened[0].ends
    ]
    assert got


def test_in_a_crowded_house_nothing_is_offered_and_beside_it_all_is() -> None:
    start, hour = datetime(2026, 11, 24, 12, tzinfo=UTC), timedelta(hours=1)
    wish = Wish(hour, hour, start, None, crowded=[Span(start + 2 * hour, start + 3 * hour)])
    offers = offers_of_a_day([Span(start, start + 5 * hour)], [Candidate(1, [])], wish)
    assert offers == [
        Offer(1, None, start, start + hour, hour),
        Offer(1, None, start + 3 * hour, start + 4 * hour, hour),
    ]


@pytest.mark.parametrize(
    ("grid", "first", "usual"),
    [(5, 30, 120), (15, 30, 120), (45, 90, 90), (60, 60, 120), (120, 120, 120), (50, 50, 100)],
)
def test_only_lengths_that_fit_the_grid_are_asked_for(grid: int, first: int, usual: int) -> None:
    step = timedelta(minutes=grid)
    choices = [minutes for minutes, _ in length_choices(step)]
    assert (choices[0], usual_length(step)) == (first, usual)
    assert all(minutes % grid == 0 and minutes <= 720 for minutes in choices)


@pytest.mark.parametrize("grid", [45, 60])
@pytest.mark.parametrize("name", ["Asia/Kolkata", "Europe/Amsterdam"])
def test_what_is_offered_on_an_odd_grid_or_in_an_odd_zone_can_be_booked(
    db: Any, now: datetime, grid: int, name: str
) -> None:
    house = makers.house()
    stations.describe_studio(
        name="Far", time_zone=name, currency="INR", currency_digits=2, grid_minutes=grid, heads_at_once=9
    )
    house.studio.refresh_from_db()
    adri, scanner = makers.member("Adri"), house.stations["S1"]
    length = 2 * timedelta(minutes=grid)
    found = queries.free_times(
        studio=house.studio,
        stations_wanted=[scanner],
        processors=None,
        process=None,
        day=date(2026, 11, 26),
        length=length,
        now=now,
        by=adri,
    )
    assert found
    for free in found:
        booking = actions.book(
            member=adri, station=scanner, process=None, starts=free.starts, ends=free.ends, now=now, by=adri
        )
        actions.cancel(booking=booking, now=now, by=adri)
