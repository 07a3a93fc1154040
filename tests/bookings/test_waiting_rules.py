"""May somebody wait, when could it be, how long is a time kept: pure, with no database."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from studiodesk.bookings.rules import waiting as rules
from studiodesk.bookings.rules.needs import Need
from studiodesk.timekeeping import Span

ZONE = ZoneInfo("Europe/Amsterdam")
NOW = datetime(2026, 11, 25, 14, tzinfo=UTC)  # Wednesday, 15:00 in Amsterdam
QUARTER = timedelta(minutes=15)
DAY = timedelta(days=1)
THURSDAY = date(2026, 11, 26)


def at(hour: int, minute: int = 0, day: int = 26) -> datetime:
    return datetime(2026, 11, day, hour, minute, tzinfo=ZONE)


def need(**more: object) -> Need:
    given = {"kind": "booth", "first_day": THURSDAY, "last_day": THURSDAY, "not_before": 18 * 60, "not_after": 22 * 60}
    return Need(**{**given, **more})  # type: ignore[arg-type]


def refusal(asked: Need, *, waits_for: tuple[Need, ...] = (), fitting: int = 1, now: datetime = NOW) -> str | None:
    found = rules.may_wait(asked, now=now, zone=ZONE, grid=QUARTER, waits_for=waits_for, fitting=fitting)
    return found.code if found else None


def test_whoever_asks_for_something_that_can_come_may_wait():
    assert refusal(need()) is None
    assert refusal(need(first_day=THURSDAY - DAY, last_day=THURSDAY + 364 * DAY)) is None
    assert refusal(need(not_before=None, not_after=None)) is None


@pytest.mark.parametrize(
    "more, code",
    [
        ({"last_day": THURSDAY - DAY}, "bookings.wish_days_turned"),
        ({"first_day": None}, "bookings.wish_days_turned"),
        ({"first_day": THURSDAY - 9 * DAY, "last_day": THURSDAY - 2 * DAY}, "bookings.wish_past"),
        ({"last_day": THURSDAY - DAY + 366 * DAY}, "bookings.wish_too_far"),
        ({"length": 10}, "bookings.too_short"),
        ({"length": 100}, "bookings.off_grid"),
        ({"length": 255}, "bookings.wish_without_room"),
        ({"weekdays": (0, 6)}, "bookings.wish_without_room"),
    ],
)
def test_what_can_come_to_nothing_is_refused(more, code):
    assert refusal(need(**more)) == code


def test_the_latest_moment_to_wait_for_the_last_stay_of_a_day():
    """The last stay begins at 20:00, and what begins within half an hour is not offered."""
    assert refusal(need(), now=at(19, 30)) is None
    assert refusal(need(), now=at(19, 31)) == "bookings.wish_past"


def test_the_line_takes_ten_wishes_of_one_person_and_none_twice():
    others = tuple(need(length=15 * n) for n in range(9, 18))
    assert refusal(need(), waits_for=others) is None
    assert refusal(need(), waits_for=(*others, need(length=15))) == "bookings.too_many_wishes"
    assert refusal(need(), waits_for=(need(),)) == "bookings.wished_before"
    assert refusal(need(), fitting=0) == "bookings.wish_fits_nothing"


def test_a_window_over_midnight_and_the_nights_when_the_clock_changes():
    over = need(not_before=22 * 60, not_after=60)
    assert list(rules.windows(over, ZONE)) == [Span(at(22), at(1, day=27))]
    # 25 October 2026 has 25 hours and 28 March 2027 has 23 (EU directive 2000/84/EC: last Sundays, 1:00 UTC).
    for day, hours in ((date(2026, 10, 25), 6), (date(2027, 3, 28), 4)):
        night = need(first_day=day, last_day=day, not_before=0, not_after=5 * 60, length=60)
        assert [span.length for span in rules.windows(night, ZONE)] == [timedelta(hours=hours)]


def test_the_window_of_several_days_runs_from_the_first_to_the_last_that_suits():
    friday_and_sunday = need(last_day=THURSDAY + 5 * DAY, weekdays=(4, 6))
    assert rules.outer(friday_and_sunday, ZONE) == Span(at(18, day=27), at(22, day=29))
    assert rules.outer(need(length=300), ZONE) is None


def test_a_time_is_kept_for_the_houses_minutes_but_never_into_the_last_quarter_before_it_begins():
    assert rules.kept_until(NOW, 120, NOW + 5 * DAY) == NOW + timedelta(minutes=120)
    assert rules.kept_until(NOW, 120, NOW + timedelta(minutes=90)) == NOW + timedelta(minutes=75)
    assert rules.kept_until(NOW, 5, NOW + rules.SOONEST) > NOW


def stays(runs, asked=None, **more):
    given = {"not_before": NOW, "avoid": (), "grid": QUARTER, "zone": ZONE}
    found = rules.stays(runs, asked or need(), **{**given, **more})
    return [(stay.span.starts.astimezone(ZONE).strftime("%H:%M"), stay.station) for stay in found]


def test_the_earliest_comes_first_and_of_one_start_the_station_that_the_studio_lists_first():
    runs = [rules.Run(1, "booth", at(18, 30), at(19)), rules.Run(0, "booth", at(18, 45), at(18, 45))]
    assert stays(runs) == [("18:30", 1), ("18:45", 0), ("18:45", 1), ("19:00", 1)]


def test_what_is_too_soon_or_was_offered_before_or_lies_outside_the_wish_is_left_out():
    runs = [rules.Run(0, "booth", at(17), at(21))]
    assert stays(runs)[0] == ("18:00", 0) and stays(runs)[-1] == ("20:00", 0)
    assert stays(runs, not_before=at(19, 50)) == [("20:00", 0)]
    assert stays(runs, avoid=[Span(at(18), at(20))]) == [("20:00", 0)]
    assert stays(runs, within=Span(at(17), at(18, 15))) == [("18:00", 0)]


def test_whoever_comes_with_a_friend_needs_two_of_a_kind():
    runs = [rules.Run(0, "booth", at(18), at(18, 15)), rules.Run(1, "scanner", at(18), at(20))]
    assert stays(runs, need(beside=True)) == []
    runs.append(rules.Run(2, "booth", at(18, 15), at(20)))
    assert stays(runs, need(beside=True)) == [("18:15", 0), ("18:15", 2)]


def test_a_place_in_line_counts_only_those_who_want_the_same_on_the_same_days():
    evening, morning = Span(at(18), at(22)), Span(at(8), at(12))
    line = [
        rules.InLine(1, evening, frozenset({1, 2})),
        rules.InLine(2, morning, frozenset({1})),
        rules.InLine(3, evening, frozenset({3})),
        rules.InLine(4, evening, frozenset({2, 3})),
    ]
    assert rules.places(line) == {1: 1, 2: 1, 3: 1, 4: 3}


def test_an_offer_is_answered_once_and_in_time():
    def code(answer: str, now: datetime) -> str | None:
        found = rules.may_answer(answer, NOW, now)
        return found.code if found else None

    second = timedelta(seconds=1)
    assert code("", NOW - second) is None and code("", NOW) == "bookings.offer_over"
    assert code("taken", NOW - second) == "bookings.offer_taken"
    assert code("declined", NOW - second) == "bookings.offer_declined"
    assert code("ran out", NOW - second) == "bookings.offer_over"


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    runs=st.lists(st.tuples(st.integers(0, 2), st.integers(0, 15), st.integers(0, 6)), max_size=5),
    avoid=st.lists(st.tuples(st.integers(0, 15), st.integers(1, 8)), max_size=3),
    length=st.integers(1, 6),
)
def test_stays_are_those_that_counting_quarters_finds(runs, avoid, length):
    """Independent of spans: every quarter of an hour from 18:00 to 22:00 has a number."""
    start = at(18)
    given = [
        rules.Run(station, "booth", start + first * QUARTER, start + (first + more) * QUARTER)
        for station, first, more in runs
    ]
    closed = [Span(start + first * QUARTER, start + (first + n) * QUARTER) for first, n in avoid]
    found = rules.stays(given, need(length=15 * length), not_before=NOW, avoid=closed, grid=QUARTER, zone=ZONE)
    taken = {q for first, n in avoid for q in range(first, first + n)}
    expected = sorted(
        (first, station)
        for station, begin, more in runs
        for first in range(begin, begin + more + 1)
        if first + length <= 16 and not taken & set(range(first, first + length))
    )
    assert [((stay.span.starts - start) // QUARTER, stay.station) for stay in found] == expected
