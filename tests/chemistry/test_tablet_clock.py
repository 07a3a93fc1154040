"""When sheets went through that a tablet tells of later, by a clock that may be wrong."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as some

from studiodesk.chemistry.rules.tablet_clock import LATEST_MS, LONGEST_WAIT, WAY_HERE, fed_at, moment_of

NOW = datetime(2026, 11, 25, 14, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
moments = some.integers(0, LATEST_MS).map(moment_of)


def test_a_clock_that_is_right_is_believed():
    assert fed_at(NOW - 40 * MINUTE, NOW - timedelta(seconds=3), NOW) == NOW - 40 * MINUTE


def test_a_clock_that_is_wrong_is_corrected_by_what_it_is_off_by():
    for off in (timedelta(hours=-3), timedelta(days=400), timedelta(days=-20_000), 2 * WAY_HERE):
        assert fed_at(NOW + off - 40 * MINUTE, NOW + off, NOW) == NOW - 40 * MINUTE


def test_a_clock_put_back_in_between_gives_now_and_never_a_moment_to_come():
    assert fed_at(NOW + 5 * MINUTE, NOW - 5 * MINUTE, NOW) == NOW
    assert fed_at(NOW + timedelta(seconds=9), NOW + timedelta(seconds=10), NOW) == NOW


def test_a_clock_that_jumped_years_ahead_seems_a_long_wait_and_no_longer_than_the_longest():
    assert fed_at(datetime(1970, 1, 1, tzinfo=UTC), NOW, NOW) == NOW - LONGEST_WAIT
    assert fed_at(datetime(1970, 1, 1, tzinfo=UTC), NOW + timedelta(hours=1), NOW) == NOW - LONGEST_WAIT


@given(moments, moments, moments)
def test_whatever_three_moments_come_the_answer_is_within_the_longest_wait_of_now(tapped, sent, now):
    now = max(now, datetime(1970, 1, 3, tzinfo=UTC))
    assert now - LONGEST_WAIT <= fed_at(tapped, sent, now) <= now


@given(some.timedeltas(timedelta(), timedelta(hours=20)), some.timedeltas(timedelta(days=-9000), timedelta(days=9000)))
def test_how_wrong_the_clock_is_changes_the_moment_by_no_more_than_the_way_here(waited, off):
    assert abs(fed_at(NOW + off - waited, NOW + off, NOW) - (NOW - waited)) <= WAY_HERE


@given(some.integers(0, LATEST_MS))
def test_milliseconds_are_read_to_the_millisecond(ms):
    assert (moment_of(ms) - datetime(1970, 1, 1, tzinfo=UTC)) / timedelta(milliseconds=1) == ms


def test_what_no_calendar_has_is_no_moment():
    assert moment_of(-1) is moment_of(LATEST_MS + 1) is None
    assert moment_of(LATEST_MS).year == 9999
