"""Where a booking that cannot stay is best moved to: pure."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.bookings.rules import moving
from studiodesk.bookings.rules.moving import Share, Spot, Was
from studiodesk.bookings.rules.needs import Traits
from studiodesk.timekeeping import Span

ZONE = ZoneInfo("Europe/Amsterdam")
NOON = datetime(2026, 11, 26, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)
WAS = Was(1, Span(NOON, NOON + 2 * HOUR))
LONG_BEFORE = NOON - timedelta(days=7)


def spot(station: int = 1, hours: float = 0, length: float = 2, **more: object) -> Spot:
    span = Span(NOON + hours * HOUR, NOON + (hours + length) * HOUR)
    return Spot(station, span, span.widened(timedelta(0), HOUR / 4), **more)  # type: ignore[arg-type]


def names(spots: list[Spot]) -> list[tuple[int, float]]:
    return [(one.station, (one.span.starts - NOON) / HOUR) for one in spots]


def test_the_same_time_elsewhere_comes_before_another_time_of_the_day_before_another_day() -> None:
    some = [spot(1, 48), spot(1, 3), spot(2, 24), spot(2, 0), spot(3, 0), spot(2, 3), spot(1, -24.5)]
    best = moving.ranked(WAS, some, LONG_BEFORE, ZONE)
    assert names(best) == [(2, 0), (3, 0), (1, 3), (2, 3), (2, 24), (1, -24.5), (1, 48)]
    whys = [moving.why(WAS, one, ZONE) for one in best]
    assert whys == ["same time", "same time", "same day", "same day", "other day", "other day", "other day"]


def test_the_same_time_without_the_broken_kit_comes_after_the_same_time_with_all_of_it() -> None:
    some = [spot(1, 0, without_kit=True), spot(2, 0), spot(1, 1)]
    assert [moving.why(WAS, one, ZONE) for one in moving.ranked(WAS, some, LONG_BEFORE, ZONE)] == [
        "same time",
        "without kit",
        "same day",
    ]


def test_nobody_is_asked_to_come_earlier_within_a_day_and_what_has_begun_keeps_its_beginning() -> None:
    some = [spot(1, -2), spot(1, 2), spot(2, 0)]
    assert names(moving.ranked(WAS, some, NOON - 10 * HOUR, ZONE)) == [(2, 0), (1, 2)]
    assert names(moving.ranked(WAS, some, NOON - 26 * HOUR, ZONE)) == [(2, 0), (1, -2), (1, 2)]
    assert names(moving.ranked(WAS, some, NOON - 25.9 * HOUR, ZONE)) == [(2, 0), (1, 2)]
    assert names(moving.ranked(WAS, some, NOON + HOUR, ZONE)) == [(2, 0)]


def test_another_day_is_compared_by_its_clock_over_a_change_of_it() -> None:
    # The clocks of Amsterdam went back on 25 October 2026 at 3:00 (EU Directive 2000/84/EC: last Sunday of October).
    before = datetime(2026, 10, 24, 14, tzinfo=ZONE)
    assert moving.clock_shift(before, datetime(2026, 10, 25, 14, tzinfo=ZONE), ZONE) == timedelta(0)
    assert moving.clock_shift(before, datetime(2026, 10, 25, 15, tzinfo=ZONE), ZONE) == HOUR


BOOTH = Traits(
    code="A",
    kind="booth",
    formats=("6x7", "35"),
    light_source="halogen",
    has_colour_filters=False,
    largest_print_mm=(400, 500),
    step_free=False,
    bench_height_mm=None,
    processes=frozenset({"rc", "ra4"}),
    feed_widths={},
    zone="",
)


@pytest.mark.parametrize(
    ("change", "equal"),
    [
        ({}, True),
        ({"formats": ("35", "6x7", "4x5")}, True),
        ({"formats": ("35",)}, False),
        ({"light_source": "LED"}, False),
        ({"kind": "bay"}, False),
        ({"processes": frozenset({"rc"})}, True),
        ({"processes": frozenset({"ra4"})}, False),
        ({"largest_print_mm": (300, 400)}, False),
        ({"largest_print_mm": None}, True),
        ({"step_free": True}, True),
    ],
)
def test_a_station_is_equal_if_it_does_all_that_the_booking_could_count_on(change: dict, equal: bool) -> None:
    from dataclasses import replace

    assert moving.is_equal(replace(BOOTH, **change), BOOTH, "rc") is equal


def test_whoever_booked_a_station_without_steps_or_with_colour_filters_is_offered_only_such() -> None:
    from dataclasses import replace

    assert not moving.is_equal(BOOTH, replace(BOOTH, step_free=True), "rc")
    assert not moving.is_equal(BOOTH, replace(BOOTH, has_colour_filters=True), "rc")
    scanner = replace(BOOTH, processes=frozenset())
    assert moving.is_equal(scanner, scanner, None)
    assert not moving.is_equal(BOOTH, scanner, None)


def test_two_parties_are_never_given_one_station_at_one_time_clear_up_included() -> None:
    parties = [[spot(2, 0), spot(3, 0)], [spot(2, 1), spot(2, 2.25)], [spot(2, 0)]]
    given = moving.assigned(parties)
    assert names([one[0] for one in given if one]) == [(2, 0), (2, 2.25)]
    assert given[2] == []


def test_places_heads_and_light_are_shared_out_only_as_far_as_they_go() -> None:
    def share(left: int, takes: int = 1) -> tuple[Share, ...]:
        return (Share("machine P", Span(NOON, NOON + 2 * HOUR), takes, left),)

    two = [[spot(number, shares=share(2))] for number in (1, 2, 3)]
    assert [len(one) for one in moving.assigned(two)] == [1, 1, 0]
    with_guests = [[spot(number, shares=share(4, takes=2))] for number in (1, 2, 3)]
    assert [len(one) for one in moving.assigned(with_guests)] == [1, 1, 0]
    lights = [[spot(1, room=7, light="dark")], [spot(2, room=7, light="safe")], [spot(3, room=7, light="dark")]]
    assert [len(one) for one in moving.assigned(lights)] == [1, 0, 1]


@given(st.lists(st.lists(st.tuples(st.integers(1, 3), st.integers(0, 6)), max_size=4), max_size=6))
def test_what_is_given_out_never_clashes_whatever_is_asked(wanted: list[list[tuple[int, int]]]) -> None:
    """Brute force: every pair of what was given is compared."""
    left = 2
    parties = [
        [
            spot(station, hour, shares=(Share("heads", Span(NOON + hour * HOUR, NOON + (hour + 2) * HOUR), 1, left),))
            for station, hour in party
        ]
        for party in wanted
    ]
    given_out = [one[0] for one in moving.assigned(parties) if one]
    for index, one in enumerate(given_out):
        for other in given_out[index + 1 :]:
            assert one.station != other.station or not one.whole.overlaps(other.whole)
    for half in range(0, 20):
        at = NOON + half * HOUR / 2
        assert sum(one.span.holds(at) for one in given_out) <= left
