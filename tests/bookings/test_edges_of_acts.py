"""Acts at their edges: what was cancelled and comes back, who is in already, what only becomes less, nights of the
clock change.  Each of these once went wrong or was not looked at."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from studiodesk import letters
from studiodesk.answers import Refused
from studiodesk.bookings import actions, queries
from studiodesk.bookings.actions import New
from studiodesk.bookings.models import Booking, Hold, Series
from studiodesk.bookings.rules.series import Recurrence
from studiodesk.desk import actions as desk
from studiodesk.journal.actions import Letter, send_due_notices
from studiodesk.journal.models import Notice
from studiodesk.people import actions as people
from studiodesk.safety import actions as safety
from studiodesk.stations import actions as stations
from studiodesk.stations import queries as house_queries
from studiodesk.timekeeping import Span
from tests import makers
from tests.bookings.acting import HOUR, TOMORROW, booked
from tests.bookings.waits import full, offer_of, wait

DAY = timedelta(days=1)


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


@pytest.fixture
def kim(house: Any) -> Any:
    return makers.member("Kim", is_keyholder=True)


def rule(code: str, value: int, now: datetime) -> None:
    actions.set_house_rule(code=code, plan=None, value=value, in_force_from=now.date(), now=now, by=None)


def refusal_of(work: Callable[[], Any]) -> str:
    with pytest.raises(Refused) as caught:
        work()
    return caught.value.refusal.code


def shut(house: Any, by: Any, now: datetime, code: str = "E1") -> Any:
    span = Span(TOMORROW - HOUR, TOMORROW + 5 * HOUR)
    return actions.shut(
        things=[house.stations[code]], span=span, reason="No water", cause="fault", now=now, by=by
    ).outage


# ---- what was cancelled counts as anything new that is booked -----------------------------------------------------


@pytest.mark.parametrize(
    ("numbers", "code"),
    [
        ({"open_bookings": 1}, "bookings.too_many_open"),
        ({"month_hours": 2}, "bookings.month_used_up"),
        ({"peak_week_hours": 2, "peak_from": 600, "peak_until": 1320, "peak_days": 127}, "bookings.peak_used_up"),
    ],
)
def test_a_cancellation_taken_back_gets_nobody_past_a_rule_of_the_house(
    house: Any, adri: Any, now: datetime, numbers: dict[str, int], code: str
) -> None:
    for name, value in numbers.items():
        rule(name, value, now)
    first = booked(house, adri, now, start=24 * 2)
    actions.cancel(booking=first, now=now, by=adri)
    second = booked(house, adri, now, start=24 * 3)
    assert refusal_of(lambda: actions.undo_last_change(booking=first, now=now, by=adri)) == code
    actions.cancel(booking=second, now=now, by=adri)
    assert actions.undo_last_change(booking=first, now=now, by=adri).cancelled_at is None


def test_while_booking_rests_no_cancellation_is_taken_back(house: Any, adri: Any, now: datetime) -> None:
    rule("strikes", 1, now)
    rule("free_cancel_hours", 24, now)
    in_time, late = booked(house, adri, now, start=24 * 5), booked(house, adri, now)
    for one in (in_time, late):
        actions.cancel(booking=one, now=now, by=adri)
    assert refusal_of(lambda: actions.undo_last_change(booking=in_time, now=now, by=adri)) == "bookings.paused"


def test_pressed_twice_undo_takes_back_one_change(house: Any, adri: Any, now: datetime) -> None:
    booking = booked(house, adri, now)
    for hours in (3, 5):
        new = New(starts=TOMORROW + hours * HOUR, ends=TOMORROW + (hours + 2) * HOUR)
        booking = actions.change(booking=booking, new=new, now=now, by=adri)
    shown = booking.sequence
    for _press in (1, 2):
        row = actions.undo_last_change(booking=booking, now=now, by=adri, seq=shown)
        assert row.starts == TOMORROW + 3 * HOUR
    actions.change(booking=row, new=New(ends=row.ends + HOUR), now=now + HOUR, by=adri)
    late = refusal_of(lambda: actions.undo_last_change(booking=row, now=now + HOUR, by=adri, seq=shown))
    assert late == "bookings.changed_meanwhile"


# ---- who is in already --------------------------------------------------------------------------------------------


def test_who_signed_in_early_comes_to_no_later_time(house: Any, adri: Any, now: datetime) -> None:
    booking, early = booked(house, adri, now, "S1", process=None), TOMORROW - HOUR / 2
    actions.arrive(booking=booking, now=early, by=adri)
    later = New(starts=TOMORROW + DAY, ends=TOMORROW + DAY + 2 * HOUR)
    code = refusal_of(lambda: actions.change(booking=booking, new=later, now=early, by=adri))
    assert code == "bookings.arrived_already"
    sooner = actions.change(booking=booking, new=New(starts=early), now=early, by=adri)
    assert (sooner.starts, sooner.arrived_at) == (early, early)


def test_guests_that_join_a_stay_or_leave_it_are_counted_in_the_house(house: Any, adri: Any, now: datetime) -> None:
    rule("guests", 5, now)
    booking = booked(house, adri, now, guests=1)
    actions.arrive(booking=booking, now=TOMORROW, by=adri)
    heads = []
    for minutes, guests in ((10, 3), (20, 0), (30, 2)):
        at = TOMORROW + timedelta(minutes=minutes)
        actions.change(booking=booking, new=New(guests=guests), now=at, by=adri)
        heads.append(queries.in_house(at, house.studio).heads)
    assert heads == [4, 1, 3]


def test_what_was_given_back_or_left_is_nothing_to_come_and_keeps_nobody_from_leaving(
    house: Any, adri: Any, now: datetime
) -> None:
    missed, left = booked(house, adri, now), booked(house, adri, now, "E2")
    actions.arrive(booking=left, now=TOMORROW, by=adri)
    actions.leave(booking=left, now=TOMORROW + HOUR / 2, by=adri)
    actions.release(booking=missed, now=TOMORROW + HOUR / 2)
    at = TOMORROW + HOUR
    coming, gone = queries.coming_and_gone(adri, at)
    assert (coming, {one.pk for one in gone}) == ([], {missed.pk, left.pk})
    staff = makers.member("Sef", is_staff=True)
    assert desk.let_go(person=adri, cancel_bookings=True, now=at, by=staff) == 0
    adri.refresh_from_db()
    assert not adri.is_active


# ---- what only becomes less ---------------------------------------------------------------------------------------


def test_giving_time_back_is_never_refused_for_a_new_note_or_a_newer_rule(house: Any, adri: Any, now: datetime) -> None:
    booking = booked(house, adri, now, hours=4)
    safety.publish_note(processor=house.processors["P-RC"], title="Gloves", body="Wear them.", now=now)
    rule("days_ahead", 0, now)
    rule("longest_stay_minutes", 60, now)
    shorter = actions.change(booking=booking, new=New(ends=booking.ends - HOUR), now=now, by=adri)
    assert shorter.ends == TOMORROW + 3 * HOUR
    longer = New(ends=booking.ends + HOUR)
    code = refusal_of(lambda: actions.change(booking=shorter, new=longer, now=now, by=adri))
    assert code == "bookings.note_not_acknowledged"


def test_a_membership_that_ends_after_booking_leaves_what_is_booked(house: Any, adri: Any, now: datetime) -> None:
    staff = makers.member("Mo", is_staff=True, is_manager=True)
    rule("membership_needed", 1, now)
    plan = people.make_plan(code="full", name="Full", now=now, by=staff)
    held = people.give_membership(member=adri, plan=plan, first_day=now.date(), last_day=None, now=now, by=staff)
    booking = booked(house, adri, now, start=24 * 5, hours=3)
    people.end_membership(membership=held, on=(now + DAY).date(), now=now, by=staff)
    longer = New(ends=booking.ends + HOUR)
    code = refusal_of(lambda: actions.change(booking=booking, new=longer, now=now, by=adri))
    assert code == "bookings.membership_ends"
    assert actions.change(booking=booking, new=New(ends=booking.ends - HOUR), now=now, by=adri).cancelled_at is None


# ---- series -------------------------------------------------------------------------------------------------------


def weekly_of(house: Any, who: Any, now: datetime, of: Recurrence) -> Any:
    given = {"station": house.stations["E1"], "process": house.processes["rc"]}
    return actions.book_series(member=who, of=of, now=now, by=who, **given)


EVENINGS = Recurrence(date(2026, 11, 26), date(2026, 12, 17), 1, 18 * 60, 2 * HOUR)


def test_who_is_in_at_the_first_cancels_the_rest(house: Any, adri: Any, now: datetime) -> None:
    made = weekly_of(house, adri, now, EVENINGS)
    early = made.bookings[0].starts - HOUR / 2
    actions.arrive(booking=made.bookings[0], now=early, by=adri)
    gone = actions.cancel_series(booking=made.bookings[1], scope="all", now=early, by=adri)
    assert [one.pk for one in gone] == [one.pk for one in made.bookings[1:]]


def test_a_double_tap_on_a_change_of_a_series_parts_it_once_and_tells_once(
    house: Any, adri: Any, now: datetime
) -> None:
    made = weekly_of(house, adri, now, EVENINGS)
    counts = []
    for tab in [Booking.objects.get(pk=made.bookings[1].pk) for _tab in (1, 2)]:
        args = {"scope": "following", "begins_minute": 17 * 60, "now": now, "by": adri}
        counts.append(len(actions.change_series(booking=tab, **args)))
    assert counts == [3, 0]
    assert (Series.objects.count(), Notice.objects.filter(code="bookings.series_changed").count()) == (2, 1)


def test_the_second_of_two_equal_times_of_the_clock_stays_when_only_the_booth_changes(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    """On 31 October 2027 Amsterdam has 02:30 twice (tz database)."""
    stations.set_opening(week={day: [(0, 1440)] for day in range(7)})
    made = weekly_of(house, adri, now, Recurrence(date(2027, 10, 24), date(2027, 11, 7), 1, 150, HOUR))
    doubled = made.bookings[1]
    assert doubled.starts == datetime(2027, 10, 31, 0, 30, tzinfo=UTC)
    hour_later = New(starts=doubled.starts + HOUR, ends=doubled.ends + HOUR)
    actions.change(booking=doubled, new=hour_later, now=now, by=kim)
    actions.change_series(booking=doubled, scope="this", station=house.stations["E2"], now=now, by=adri)
    doubled.refresh_from_db()
    assert (doubled.station.code, doubled.starts) == ("E2", datetime(2027, 10, 31, 1, 30, tzinfo=UTC))


@pytest.mark.parametrize(("night", "hours"), [(date(2027, 3, 27), 3), (date(2027, 10, 30), 5), (date(2027, 10, 29), 4)])
def test_a_night_over_the_clock_change_is_held_for_as_long_as_it_lasts(
    house: Any, adri: Any, now: datetime, night: date, hours: int
) -> None:
    """From 23:00 to 03:00 by the clock: 3, 5 and on any other night 4 hours (tz database)."""
    stations.set_opening(week={day: [(0, 1440)] for day in range(7)})
    zone = house_queries.zone()
    starts, ends = (datetime(night.year, night.month, night.day, 23), datetime(night.year, night.month, night.day, 3))
    span = Span(starts.replace(tzinfo=zone).astimezone(UTC), (ends + DAY).replace(tzinfo=zone).astimezone(UTC))
    given = {"station": house.stations["E1"], "process": house.processes["rc"], "now": now, "by": adri}
    booking = actions.book(member=adri, starts=span.starts, ends=span.ends, **given)
    held = Hold.objects.get(booking=booking, lane__resource=house.processors["P-RC"].resource)
    assert held.ends - held.starts == booking.ends - booking.starts == hours * HOUR


# ---- what is out of service, who helps, letters -------------------------------------------------------------------


def test_who_takes_an_offer_that_went_out_of_service_is_told(house: Any, adri: Any, kim: Any, now: datetime) -> None:
    bente = makers.member("Bente")
    taken, wish = full(house, adri, now), wait(bente, now)
    actions.cancel(booking=taken, now=now, by=adri)
    shut(house, kim, now, "S1")
    assert not Notice.objects.filter(person=bente, code="bookings.hit").exists()
    actions.accept(offer=offer_of(wish), now=now, by=bente)
    assert Notice.objects.filter(person=bente, code="bookings.hit").count() == 1


def test_who_moved_away_from_what_is_shut_gets_no_letter_about_it(
    house: Any, adri: Any, kim: Any, now: datetime
) -> None:
    booking = booked(house, adri, now)
    shut(house, kim, now)
    actions.change(booking=booking, new=New(station=house.stations["E2"]), now=now, by=adri)
    sweep = send_due_notices(now=now, render=letters.render)
    assert "bookings.hit" not in {code for _number, code, _subject in sweep.told}
    assert "bookings.changed" in {code for _number, code, _subject in sweep.told}


def test_who_is_no_tutor_any_more_supervises_nobody(house: Any, now: datetime) -> None:
    staff, tutor = makers.member("Sef", is_staff=True), makers.member("Tuur", is_tutor=True)
    span = Span(TOMORROW, TOMORROW + 4 * HOUR)
    shift = stations.add_shift(span=span, now=now, by=staff)
    stations.take_shift(shift=shift, now=now, by=tutor)
    stations.set_supervises(shift=shift, supervises=True, now=now, by=tutor)
    assert house_queries.supervised_spans(span) == [span]
    people.set_roles(person=tutor, roles=["keyholder"], now=now, by=staff)
    assert house_queries.supervised_spans(span) == []


def test_a_sweep_that_fails_late_puts_no_letter_back_that_another_sent(house: Any, adri: Any, now: datetime) -> None:
    booked(house, adri, now)
    sent: list[int] = []

    def writes(notice: Notice, again: bool) -> Letter:
        sent.append(notice.pk)
        return Letter("A subject", "A body")

    def hangs(notice: Notice, again: bool) -> Letter:
        send_due_notices(now=now + timedelta(minutes=11), render=writes)
        raise OSError("the connection broke at last")

    send_due_notices(now=now, render=hangs)
    states = set(Notice.objects.filter(code="bookings.booked").values_list("state", flat=True))
    send_due_notices(now=now + timedelta(minutes=30), render=writes)
    assert (states, len(sent)) == ({"sent"}, 1)
