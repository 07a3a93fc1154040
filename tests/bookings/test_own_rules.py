"""The rules of the house to one person's wish, without a database: each breaks at its number and not before."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.bookings.rules import own
from studiodesk.bookings.rules.asking import Asked
from studiodesk.bookings.rules.house import KINDS, Row, in_force
from studiodesk.bookings.rules.own import OwnStay, Person, broken, paused_until, peak_spans
from studiodesk.timekeeping import Span

ZONE = ZoneInfo("Europe/Amsterdam")
HOUR = timedelta(hours=1)
#: Wednesday 25 November 2026, 15:00 in Amsterdam.
NOW = datetime(2026, 11, 25, 14, tzinfo=UTC)
LONG_AGO = date(2020, 1, 1)


def rules(**numbers: int | None) -> Any:
    return in_force([Row(code, None, value, LONG_AGO) for code, value in numbers.items()], date(2026, 11, 25))


def asked(starts: datetime = NOW + 24 * HOUR, hours: float = 2, **more: Any) -> Asked:
    return Asked(starts, starts + hours * HOUR, "rc", NOW, **more)


def codes(wish: Asked, person: Person, numbers: Any) -> list[str]:
    return [refusal.code.removeprefix("bookings.") for refusal in broken(wish, person, numbers, ZONE)]


def facts(wish: Asked, person: Person, numbers: Any) -> Any:
    (only,) = broken(wish, person, numbers, ZONE)
    return only.facts


def test_a_house_that_said_nothing_limits_nobody() -> None:
    many = [OwnStay(NOW + n * HOUR, NOW + (n + 1) * HOUR) for n in range(0, 500, 2)]
    assert codes(asked(NOW + 300 * 24 * HOUR, 12), Person(own=many, born_on=date(1960, 1, 1)), rules()) == []


def test_a_membership_is_asked_for_only_where_the_house_says_so_and_never_of_its_own_people() -> None:
    needed = rules(membership_needed=1)
    assert codes(asked(), Person(), needed) == ["no_membership"]
    assert codes(asked(), Person(plan="3"), needed) == []
    assert codes(asked(), Person(runs_the_house=True), needed) == []
    ended = Person(member_until=date(2026, 11, 25))
    assert codes(asked(), ended, needed) == ["membership_ends"]
    assert facts(asked(), ended, needed) == {"last_day": date(2026, 11, 25), "day": date(2026, 11, 26)}


@pytest.mark.parametrize(("day", "is_refused"), [(9, False), (10, False), (11, True)])
def test_days_ahead_are_local_days_and_the_day_on_which_it_opens_is_named(day: int, is_refused: bool) -> None:
    """23:30 in Amsterdam is the same local day though UTC has 22:30; 00:30 is the next though UTC has not."""
    for hour, minute in ((22, 30), (0, 0)):
        starts = datetime(2026, 11, 25, hour, minute, tzinfo=UTC) + timedelta(days=day)
        found = broken(asked(starts, 1), Person(), rules(days_ahead=10), ZONE)
        assert bool(found) == is_refused
        if found:
            assert found[0].facts == {"days": 10, "from_": date(2026, 11, 26)}


def test_the_longest_stay_holds_for_a_change_only_if_it_grows() -> None:
    limit = rules(longest_stay_minutes=120)
    assert codes(asked(hours=2), Person(), limit) == []
    assert codes(asked(hours=2.25), Person(), limit) == ["stay_too_long"]
    was = Span(NOW, NOW + 4 * HOUR)
    assert codes(asked(hours=3, before=was), Person(), limit) == []
    assert codes(asked(hours=4.25, before=was), Person(), limit) == ["stay_too_long"]


def test_open_bookings_are_counted_without_what_was_missed_or_is_over() -> None:
    limit = rules(open_bookings=2)
    ahead = [OwnStay(NOW + n * HOUR, NOW + (n + 1) * HOUR) for n in (5, 30)]
    gone = [OwnStay(NOW - 3 * HOUR, NOW - HOUR), replace(ahead[0], late_at=NOW), replace(ahead[0], missed=True)]
    assert codes(asked(), Person(own=[ahead[0], *gone]), limit) == []
    assert facts(asked(), Person(own=ahead), limit) == {"most": 2, "from_": NOW + 6 * HOUR}
    assert codes(asked(before=Span(NOW, NOW + HOUR)), Person(own=ahead), limit) == []
    assert codes(asked(), Person(), rules(open_bookings=0)) == ["none_ahead"]


def test_hours_of_a_month_count_by_the_local_month_in_which_a_stay_begins() -> None:
    limit = rules(month_hours=10)
    # 30 November 23:30 in Amsterdam is November; 1 December 00:30 is December, though UTC still has November.
    november = OwnStay(datetime(2026, 11, 30, 22, 30, tzinfo=UTC), datetime(2026, 12, 1, 1, 30, tzinfo=UTC))
    december = OwnStay(datetime(2026, 11, 30, 23, 30, tzinfo=UTC), datetime(2026, 12, 1, 7, 30, tzinfo=UTC))
    person = Person(own=[november, december])
    assert codes(asked(hours=7), person, limit) == []
    assert facts(asked(hours=7.25), person, limit) == {
        "hours": 10,
        "used": 3 * HOUR,
        "left": 7 * HOUR,
        "from_": date(2026, 12, 1),
    }
    assert codes(asked(datetime(2026, 12, 10, 12, tzinfo=UTC), 2.25), person, limit) == ["month_used_up"]


def test_missed_and_late_hours_count_to_the_month_only_where_the_house_says_so() -> None:
    missed = OwnStay(NOW - 48 * HOUR, NOW - 44 * HOUR, missed=True)
    late = OwnStay(NOW + 48 * HOUR, NOW + 52 * HOUR, late_at=NOW)
    person = Person(own=[missed, late])
    assert codes(asked(hours=3), person, rules(month_hours=10)) == []
    assert codes(asked(hours=3), person, rules(month_hours=10, missed_hours_count=1)) == ["month_used_up"]


def test_a_change_that_asks_for_no_more_hours_in_its_month_is_no_matter_of_the_month() -> None:
    limit = rules(month_hours=2)
    full = Person(own=[OwnStay(NOW, NOW + 2 * HOUR)])
    was = Span(NOW + 26 * HOUR, NOW + 28 * HOUR)
    assert codes(asked(before=was), full, limit) == []
    assert codes(asked(hours=2.5, before=was), full, limit) == ["month_used_up"]
    in_december = asked(datetime(2026, 12, 2, 12, tzinfo=UTC), before=was)
    assert codes(in_december, Person(own=[OwnStay(in_december.starts - 24 * HOUR, in_december.starts)]), limit) == [
        "month_used_up"
    ]


def test_busy_hours_are_wall_clock_hours_of_the_week() -> None:
    """Thursday 26 November 17:00 to 22:00 in Amsterdam is 16:00 to 21:00 UTC; a stay counts with what lies inside."""
    limit = rules(peak_days=0b0011111, peak_from=1020, peak_until=1320, peak_week_hours=4)
    thursday = datetime(2026, 11, 26, 15, tzinfo=UTC)  # 16:00 in Amsterdam
    assert codes(asked(thursday, 5), Person(), limit) == []
    assert codes(asked(thursday, 5.25), Person(), limit) == ["peak_used_up"]
    tuesday = OwnStay(datetime(2026, 11, 24, 16, tzinfo=UTC), datetime(2026, 11, 24, 19, tzinfo=UTC))
    found = facts(asked(thursday, 3), Person(own=[tuesday]), limit)
    assert (found["used"], found["from_"], found["opens"], found["closes"]) == (
        3 * HOUR,
        date(2026, 11, 30),
        "17:00",
        "22:00",
    )
    last_week = replace(tuesday, starts=tuesday.starts - timedelta(7), ends=tuesday.ends - timedelta(7))
    assert codes(asked(thursday, 5), Person(own=[last_week]), limit) == []
    saturday = datetime(2026, 11, 28, 16, tzinfo=UTC)
    assert codes(asked(saturday, 6), Person(own=[tuesday]), limit) == []


def test_busy_hours_keep_their_wall_clock_over_both_clock_changes() -> None:
    numbers = rules(peak_days=0b1000000, peak_from=60, peak_until=240)
    for monday, hours in ((date(2026, 3, 23), 2), (date(2026, 10, 19), 4), (date(2026, 11, 2), 3)):
        (span,) = peak_spans(monday, numbers, ZONE)
        assert span.length == hours * HOUR


def test_booking_rests_after_too_many_strikes_and_the_moment_of_its_end_is_said() -> None:
    limit = rules(strikes=2, strike_days=30, pause_days=14)
    day = timedelta(days=1)
    first = OwnStay(NOW - 20 * day, NOW - 20 * day + HOUR, missed=True)
    second = OwnStay(NOW + 2 * day, NOW + 2 * day + HOUR, late_at=NOW - 3 * day)
    assert codes(asked(), Person(own=[first]), limit) == []
    assert facts(asked(), Person(own=[first, second]), limit) == {"strikes": 2, "days": 30, "until": NOW + 11 * day}
    apart = replace(first, starts=NOW - 34 * day, ends=NOW - 34 * day + HOUR)
    assert codes(asked(), Person(own=[apart, second]), limit) == []
    assert codes(asked(before=Span(NOW, NOW + HOUR)), Person(own=[first, second]), limit) == []


@given(st.lists(st.integers(-60, 0), max_size=6), st.integers(1, 4), st.integers(1, 30), st.integers(1, 30))
def test_the_pause_is_that_of_a_ledger_kept_day_by_day(days: list[int], most: int, within: int, pause: int) -> None:
    """Another way: walk through the strikes in order, keep those of the window, pause anew whenever it is full."""
    stays = [OwnStay(NOW + timedelta(days=d), NOW + timedelta(days=d, hours=1), missed=True) for d in days]
    until = None
    for n, at in enumerate(sorted(days)):
        if sum(1 for d in sorted(days)[: n + 1] if at - within <= d) >= most:
            until = NOW + timedelta(days=at + pause)
    assert paused_until(stays, NOW, most, within, pause) == until


def test_guests_and_the_adult_who_comes_along() -> None:
    assert codes(asked(guests=1), Person(), rules()) == ["too_many_guests"]
    assert codes(asked(guests=2), Person(), rules(guests=2)) == []
    child = Person(born_on=date(2008, 11, 27))  # eighteen the day after the booking
    assert facts(asked(), child, rules()) == {"age": 18}
    assert codes(asked(adult_name="Kim"), child, rules()) == []
    assert codes(asked(NOW + 48 * HOUR), child, rules()) == []
    assert codes(asked(), child, rules(adult_age=17)) == []


@given(st.dates(date(1940, 1, 1), date(2026, 1, 1)), st.dates(date(2026, 1, 1), date(2030, 1, 1)))
def test_ages_are_those_of_a_calendar_library(born: date, day: date) -> None:
    """dateutil.relativedelta; it lets a 29 February have its birthday on the 28th only when years are added."""
    assert own.age_on(born, day) == relativedelta(day, born).years


def test_without_a_sign_off_only_a_supervised_time_is_to_be_had() -> None:
    start = NOW + 24 * HOUR
    lacking = Person(lacks=("enlarger booth", "Colour, RA-4"))
    assert codes(asked(start), lacking, rules()) == ["no_sign_off"]
    helped = replace(lacking, supervised=[Span(start - HOUR, start + 2 * HOUR)])
    assert codes(asked(start), helped, rules()) == []
    too_short = replace(lacking, supervised=[Span(start, start + HOUR), Span(start + 9 * HOUR, start + 12 * HOUR)])
    found = broken(asked(start), too_short, rules(), ZONE)[0]
    assert found.code == "bookings.no_sign_off_yet"
    assert (found.facts["from_"], found.facts["until"]) == (start + 9 * HOUR, start + 12 * HOUR)


def test_all_that_is_broken_is_named() -> None:
    limit = rules(membership_needed=1, days_ahead=0, longest_stay_minutes=60, open_bookings=0)
    expected = ["no_membership", "too_far_ahead", "stay_too_long", "too_many_guests", "none_ahead"]
    assert codes(asked(guests=1), Person(), limit) == expected


def test_every_rule_s_default_lies_within_what_may_be_set() -> None:
    for kind in KINDS:
        assert kind.may_be_none if kind.default is None else kind.least <= kind.default <= kind.most
