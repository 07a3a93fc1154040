"""Bookings that recur: wall-clock time over clock changes, all or none, and edits of this, these or all."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from dateutil.rrule import WEEKLY, rrule
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.answers import Refused
from studiodesk.bookings import actions
from studiodesk.bookings.actions import Elsewhere
from studiodesk.bookings.actions.house_rules import set_house_rule
from studiodesk.bookings.models import Booking, Hold, Series
from studiodesk.bookings.rules.series import Recurrence, occurrences
from studiodesk.journal.models import Entry, Notice
from studiodesk.stations.models import Shift
from studiodesk.timekeeping import Span
from studiodesk.words import say
from tests import makers
from tests.bookings.acting import HOUR, booked

ZONE = ZoneInfo("Europe/Amsterdam")
#: A Thursday.
FIRST = date(2026, 11, 26)


def weekly(first: date = FIRST, weeks: int = 4, minute: int = 18 * 60, hours: float = 2, every: int = 1) -> Recurrence:
    return Recurrence(first, first + timedelta(weeks=(weeks - 1) * every), every, minute, hours * HOUR)


@pytest.mark.parametrize(
    ("day", "minute", "starts", "is_shifted"),
    [
        (date(2026, 3, 29), 150, datetime(2026, 3, 29, 1, 30, tzinfo=UTC), True),  # 02:30 is jumped over: 03:30
        (date(2026, 10, 25), 150, datetime(2026, 10, 25, 0, 30, tzinfo=UTC), False),  # 02:30 twice: the first
        (date(2026, 10, 26), 150, datetime(2026, 10, 26, 1, 30, tzinfo=UTC), False),
    ],
)
def test_a_missing_time_moves_forward_and_a_doubled_one_is_the_first(
    day: date, minute: int, starts: datetime, is_shifted: bool
) -> None:
    """The days on which the clock changes in the European Union, by Directive 2000/84/EC: last Sundays, 01:00 UTC."""
    (one,) = occurrences(Recurrence(day, day, 1, minute, 3 * HOUR), ZONE, 5)
    assert (one.span, one.shifted) == (Span(starts, starts + 3 * HOUR), is_shifted)


@given(
    st.dates(date(2026, 1, 1), date(2027, 12, 31)), st.integers(1, 8), st.integers(1, 30), st.integers(4 * 60, 23 * 60)
)
def test_the_days_are_those_of_a_general_recurrence_library_and_the_clock_reads_the_same(
    first: date, every: int, count: int, minute: int
) -> None:
    """dateutil.rrule, which implements the recurrence rules of RFC 5545 section 3.8.5.3."""
    found = occurrences(weekly(first, count, minute, 2, every), ZONE, 200)
    expected = rrule(WEEKLY, interval=every, dtstart=datetime.combine(first, datetime.min.time()), count=count)
    assert [one.day for one in found] == [at.date() for at in expected]
    for one in found:
        local = one.span.starts.astimezone(ZONE)
        assert (local.date(), local.hour * 60 + local.minute) == (one.day, minute)
        assert one.span.length == 2 * HOUR


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


def series(house: Any, who: Any, now: datetime, of: Recurrence | None = None, code: str = "E1", **more: Any) -> Any:
    return actions.book_series(
        member=who,
        station=house.stations[code],
        process=house.processes["rc"],
        of=of or weekly(),
        now=now,
        by=who,
        **more,
    )


def refused(work: Any) -> Any:
    before = (Booking.objects.count(), Hold.objects.count(), Series.objects.count(), Entry.objects.count())
    with pytest.raises(Refused) as caught:
        work()
    assert (Booking.objects.count(), Hold.objects.count(), Series.objects.count(), Entry.objects.count()) == before
    return caught.value.refusal


def locals_of(rows: Any) -> list[str]:
    return [f"{row.starts.astimezone(ZONE):%m-%d %H:%M}" for row in rows]


def ahead(made: Any) -> list[Booking]:
    return list(Booking.objects.filter(series=made.series, cancelled_at__isnull=True).order_by("starts"))


def test_each_occurrence_is_a_booking_and_one_letter_tells_of_all(house: Any, adri: Any, now: datetime) -> None:
    made = series(house, adri, now)
    assert locals_of(made.bookings) == ["11-26 18:00", "12-03 18:00", "12-10 18:00", "12-17 18:00"]
    assert Notice.objects.filter(code="bookings.booked").count() == 0
    assert Notice.objects.get(code="bookings.series_booked").entry.facts["bookings"] == [b.pk for b in made.bookings]
    assert Notice.objects.filter(code="bookings.reminder").count() == 4
    assert Hold.objects.filter(booking__series=made.series).count() == 8


def test_over_the_clock_change_the_wall_clock_stays_and_utc_does_not(house: Any, adri: Any, now: datetime) -> None:
    """The last Sunday of March 2027 is the 28th."""
    made = series(house, adri, now, weekly(date(2027, 3, 21), 3))
    assert locals_of(made.bookings) == ["03-21 18:00", "03-28 18:00", "04-04 18:00"]
    assert [row.starts.hour for row in made.bookings] == [17, 16, 16]


def test_all_clashes_are_told_and_nothing_is_booked_until_they_are_left_out_or_put_elsewhere(
    house: Any, adri: Any, now: datetime
) -> None:
    other = makers.member("Bente")
    evening = datetime(2026, 11, 26, 17, tzinfo=UTC)
    for weeks in (1, 3):
        start = (evening - datetime(2026, 11, 26, 12, tzinfo=UTC)) / HOUR + 24 * 7 * weeks
        booked(house, other, now, start=start)
    refusal = refused(lambda: series(house, adri, now))
    days = [date(2026, 12, 3), date(2026, 12, 17)]
    assert [(clash.day, clash.refusal.code) for clash in refusal.facts["clashes"]] == [
        (day, "bookings.taken") for day in days
    ]
    assert "Of 4 times 2 cannot be had" in str(say(refusal)) and "Thursday 3 December" in str(say(refusal))
    elsewhere = {
        days[0]: Elsewhere(house.stations["E2"], Span(*(evening + timedelta(days=7, hours=h) for h in (0, 2))))
    }
    made = series(house, adri, now, skip=[days[1]], elsewhere=elsewhere)
    assert [row.station.code for row in made.bookings] == ["E1", "E2", "E1"]


def test_a_series_of_200_is_refused_by_the_house_s_number_and_booked_where_it_allows_it(
    house: Any, adri: Any, now: datetime
) -> None:
    refusal = refused(lambda: series(house, adri, now, weekly(weeks=200)))
    assert refusal.code == "bookings.series_too_long"
    assert refusal.facts == {"most": 26, "last_day": FIRST + timedelta(weeks=25)}
    manager = makers.member("Mo", is_staff=True, is_manager=True)
    set_house_rule(code="series_bookings", plan=None, value=200, in_force_from=now.date(), now=now, by=manager)
    made = series(house, adri, now, weekly(weeks=200), code="E2")
    assert len(made.bookings) == 200 == Booking.objects.filter(series=made.series).count()


@pytest.mark.parametrize(
    ("of", "code"),
    [
        (weekly(weeks=1), "bookings.series_of_one"),
        (weekly(every=9), "bookings.series_apart"),
        (Recurrence(FIRST, FIRST - timedelta(days=1), 1, 1080, HOUR), "bookings.series_ends_early"),
    ],
)
def test_a_series_that_is_none_is_refused(house: Any, adri: Any, now: datetime, of: Any, code: str) -> None:
    assert refused(lambda: series(house, adri, now, of)).code == code


def test_a_series_counts_against_the_rules_of_the_house_like_single_bookings(
    house: Any, adri: Any, now: datetime
) -> None:
    manager = makers.member("Mo", is_staff=True, is_manager=True)
    set_house_rule(code="open_bookings", plan=None, value=3, in_force_from=now.date(), now=now, by=manager)
    refusal = refused(lambda: series(house, adri, now))
    assert [(c.day, c.refusal.code) for c in refusal.facts["clashes"]] == [
        (date(2026, 12, 17), "bookings.too_many_open")
    ]


def test_this_one_the_following_and_all_are_changed_each_on_its_own_day(house: Any, adri: Any, now: datetime) -> None:
    made = series(house, adri, now, weekly(weeks=5))
    second = made.bookings[1]
    change = {"now": now, "by": adri}
    actions.change_series(booking=second, scope="this", begins_minute=19 * 60, **change)
    assert locals_of(ahead(made))[:3] == ["11-26 18:00", "12-03 19:00", "12-10 18:00"]
    third = ahead(made)[2]
    actions.change_series(booking=third, scope="following", begins_minute=17 * 60, length=3 * HOUR, **change)
    assert locals_of(ahead(made)) == ["11-26 18:00", "12-03 19:00"]  # the following are a series of their own
    third.refresh_from_db()
    assert third.series_id != made.series.pk and (third.series.begins_minute, third.series.length_minutes) == (
        1020,
        180,
    )
    assert locals_of(ahead(third)) == ["12-10 17:00", "12-17 17:00", "12-24 17:00"]
    actions.change_series(booking=third, scope="all", station=house.stations["E2"], **change)
    assert {row.station.code for row in ahead(third)} == {"E2"} and {row.station.code for row in ahead(made)} == {"E1"}
    assert Notice.objects.filter(code="bookings.changed").count() == 0
    assert Notice.objects.filter(code="bookings.series_changed").count() == 3


def test_a_change_of_a_series_is_all_or_none_and_says_every_clash(house: Any, adri: Any, now: datetime) -> None:
    made = series(house, adri, now)
    booked(house, makers.member("Bente"), now, "E2", start=24 * 14 + 5)
    before = locals_of(ahead(made))
    refusal = refused(
        lambda: actions.change_series(
            booking=made.bookings[0], scope="all", station=house.stations["E2"], now=now, by=adri
        )
    )
    assert [clash.day for clash in refusal.facts["clashes"]] == [date(2026, 12, 10)]
    assert locals_of(ahead(made)) == before and {row.station.code for row in ahead(made)} == {"E1"}
    changed = actions.change_series(
        booking=made.bookings[0],
        scope="all",
        station=house.stations["E2"],
        skip=[date(2026, 12, 10)],
        now=now,
        by=adri,
    )
    assert len(changed) == 3


def test_cancelling_leaves_what_has_begun(house: Any, adri: Any, now: datetime) -> None:
    made = series(house, adri, now)
    in_the_second = made.bookings[1].starts + HOUR
    actions.cancel_series(booking=made.bookings[2], scope="following", now=now, by=adri)
    assert locals_of(ahead(made)) == ["11-26 18:00", "12-03 18:00"]
    with pytest.raises(Refused) as caught:
        actions.cancel_series(booking=made.bookings[1], scope="all", now=in_the_second, by=adri)
    assert caught.value.refusal.code == "bookings.series_over"
    assert len(ahead(made)) == 2
    # One letter for all of them; a single one is told like any other.
    told = Notice.objects.filter(code__startswith="bookings.").filter(code__contains="cancelled")
    assert [notice.code for notice in told] == ["bookings.series_cancelled"]
    actions.cancel_series(booking=made.bookings[0], scope="this", now=now, by=adri)
    assert sorted(notice.code for notice in told.all()) == ["bookings.cancelled", "bookings.series_cancelled"]


def test_a_booking_alone_is_no_series(house: Any, adri: Any, now: datetime) -> None:
    with pytest.raises(Refused) as caught:
        actions.cancel_series(booking=booked(house, adri, now), scope="all", now=now, by=adri)
    assert caught.value.refusal.code == "bookings.not_a_series"


def test_by_shifts_a_series_reaches_as_far_as_somebody_has_taken_one(house: Any, adri: Any, now: datetime) -> None:
    house.studio.opens_by_shifts = True
    house.studio.save(update_fields=["opens_by_shifts"])
    keyholder = makers.member("Kim", is_keyholder=True)
    for weeks in (0, 1):
        starts = datetime(2026, 11, 26, 12, tzinfo=UTC) + timedelta(weeks=weeks)
        Shift.objects.create(starts=starts, ends=starts + 9 * HOUR, person=keyholder, made_at=now)
    refusal = refused(lambda: series(house, adri, now))
    assert [clash.refusal.code for clash in refusal.facts["clashes"]] == [
        "bookings.closed_throughout",
        "bookings.closed_throughout",
    ]
    assert len(series(house, adri, now, weekly(weeks=2)).bookings) == 2
