"""The act asks the rules of the house: each number that a manager sets changes what is refused and what is said."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import pytest

from studiodesk.bookings import actions
from studiodesk.bookings.actions.house_rules import set_house_rule
from studiodesk.bookings.models import Booking
from studiodesk.journal.models import Entry
from studiodesk.people.actions import memberships
from studiodesk.people.models import MembershipPlan
from studiodesk.safety.models import SignOffNeed
from studiodesk.stations.models import Shift
from studiodesk.words import say
from tests import makers
from tests.bookings.acting import HOUR, TOMORROW, booked, refused


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


@pytest.fixture
def manager(house: Any) -> Any:
    return makers.member("Mo", is_staff=True, is_manager=True)


@pytest.fixture
def set_rule(manager: Any, now: datetime) -> Any:
    def put(code: str, value: int | None, plan: Any = None, day: date | None = None) -> None:
        set_house_rule(code=code, plan=plan, value=value, in_force_from=day or now.date(), now=now, by=manager)

    return put


def said(*args: Any, **more: Any) -> str:
    return str(say(refused(*args, **more)))


@pytest.mark.parametrize(
    ("code", "numbers", "words", "wish"),
    [
        ("days_ahead", (0, 3), ("0 days before", "3 days before"), {"start": 24 * 5}),
        ("open_bookings", (1, 2), ("1 booking can be ahead", "2 bookings can be ahead"), {"start": 5}),
        ("month_hours", (4, 5), ("includes 4 hours a month; 4 h of it are booked, 0 min", "includes 5 hours"), {}),
        ("longest_stay_minutes", (30, 60), ("longest stay is 30 min", "longest stay is 1 h"), {}),
        ("peak_week_hours", (0, 1), ("includes 0 hours a week", "includes 1 hours a week"), {"start": 4}),
        ("guests", (0, 1), ("may bring 0 guests", "may bring 1 guest "), {"guests": 2}),
    ],
)
def test_each_number_stands_in_the_sentence_that_refuses_by_it(
    house: Any, adri: Any, now: datetime, set_rule: Any, code: str, numbers: Any, words: Any, wish: Any
) -> None:
    booked(house, adri, now, "S1", process=None)
    booked(house, adri, now, "S1", process=None, start=3)
    set_rule("peak_days", 127)
    for number, expected in zip(numbers, words, strict=True):
        set_rule(code, number)
        assert expected in said(house, adri, now, "E1", **wish)
    set_rule(code, None if code not in {"guests", "longest_stay_minutes"} else {"guests": 2}.get(code, 720))
    assert booked(house, adri, now, "E1", **wish).pk


def test_a_rule_holds_from_its_day_and_for_its_plan(house: Any, adri: Any, now: datetime, set_rule: Any) -> None:
    plan = MembershipPlan.objects.create(code="half", name="Half")
    staff = makers.member("Sia", is_staff=True)
    memberships.give_membership(member=adri, plan=plan, first_day=now.date(), last_day=None, now=now, by=staff)
    set_rule("longest_stay_minutes", 60, plan)
    assert "longest stay is 1 h" in said(house, adri, now)
    assert booked(house, makers.member("Bente"), now).pk
    set_rule("longest_stay_minutes", 180, plan, TOMORROW.date())  # the rule of the day of the stay holds
    assert booked(house, adri, now, "E2").pk


def test_a_membership_that_ends_before_the_day_of_the_booking_is_named_with_its_day(
    house: Any, adri: Any, now: datetime, set_rule: Any
) -> None:
    plan = MembershipPlan.objects.create(code="day", name="Day pass", is_day_pass=True)
    set_rule("membership_needed", 1)
    assert refused(house, adri, now).code == "bookings.no_membership"
    staff = makers.member("Sia", is_staff=True)
    memberships.give_membership(member=adri, plan=plan, first_day=now.date(), last_day=now.date(), now=now, by=staff)
    refusal = refused(house, adri, now)
    assert refusal.code == "bookings.membership_ends" and refusal.facts["last_day"] == now.date()
    assert booked(house, adri, now, "S1", process=None, start=-22).pk
    assert booked(house, staff, now).pk  # whoever runs the house needs none


def test_staff_set_a_rule_aside_with_a_reason_that_the_journal_keeps_and_nobody_else_does(
    house: Any, adri: Any, now: datetime, set_rule: Any
) -> None:
    set_rule("longest_stay_minutes", 60)
    staff, keyholder = makers.member("Sia", is_staff=True), makers.member("Kim", is_keyholder=True)
    assert refused(house, adri, now, by=keyholder, override="why not").code == "bookings.not_yours_to_override"
    assert refused(house, adri, now, by=staff).code == "bookings.stay_too_long"
    made = booked(house, adri, now, by=staff, override="  large print, agreed  ")
    entry = Entry.objects.get(code="bookings.booked", about_id=made.pk)
    assert entry.facts["reason"] == "large print, agreed"
    assert entry.facts["rules"] == ["bookings.stay_too_long"] and entry.actor == staff
    # What is taken is taken, whatever the reason.
    assert refused(house, makers.member("Bente"), now, by=staff, override="please").code == "bookings.taken"
    # A reason where nothing stands in the way is none.
    assert booked(house, adri, now, "E2", hours=1, by=staff, override="no need").pk
    assert "reason" not in Entry.objects.filter(code="bookings.booked").order_by("pk").last().facts


def test_a_missed_booking_and_a_late_cancellation_are_strikes(
    house: Any, adri: Any, now: datetime, set_rule: Any
) -> None:
    for code, number in (("free_cancel_hours", 24), ("strikes", 2), ("pause_days", 3)):
        set_rule(code, number)
    missed = booked(house, adri, now, "S1", process=None, start=-21, hours=1)
    in_time = booked(house, adri, now, "E2", start=24)
    late = booked(house, adri, now)
    assert actions.cancel(booking=in_time, now=now, by=adri).was_cancelled_late is False
    assert actions.cancel(booking=late, now=now, by=adri).was_cancelled_late is True
    assert booked(house, adri, now, "E2", start=24 * 8).pk
    after = missed.ends + HOUR
    refusal = refused(house, adri, after, start=24)
    assert refusal.code == "bookings.paused" and refusal.facts["until"] == missed.starts + timedelta(days=3)
    assert booked(house, adri, missed.starts + timedelta(days=3), start=120).pk


def test_the_house_s_cancellation_is_never_late(house: Any, adri: Any, now: datetime, set_rule: Any) -> None:
    set_rule("free_cancel_hours", 48)
    booking = booked(house, adri, now)
    keyholder = makers.member("Kim", is_keyholder=True)
    assert actions.cancel(booking=booking, now=now, by=keyholder).was_cancelled_late is False


def test_who_was_not_signed_off_books_a_supervised_time_only(house: Any, adri: Any, now: datetime) -> None:
    SignOffNeed.objects.create(process=house.processes["ra4"], made_at=now)
    assert refused(house, adri, now, process="ra4").code == "bookings.no_sign_off"
    assert booked(house, adri, now, "E2").pk  # another process asks for none
    shift = Shift.objects.create(
        starts=TOMORROW + 4 * HOUR,
        ends=TOMORROW + 8 * HOUR,
        person=makers.member("Noor", is_tutor=True),
        supervises=True,
        made_at=now,
    )
    refusal = refused(house, adri, now, process="ra4")
    assert (refusal.code, refusal.facts["from_"]) == ("bookings.no_sign_off_yet", shift.starts)
    assert "Colour, RA-4" in str(say(refusal))
    assert booked(house, adri, now, process="ra4", start=4).pk


def test_no_more_people_than_the_house_holds_with_their_guests(
    house: Any, adri: Any, now: datetime, set_rule: Any
) -> None:
    house.studio.heads_at_once = 4
    house.studio.save(update_fields=["heads_at_once"])
    set_rule("guests", 3)
    booked(house, adri, now, guests=1)
    assert refused(house, makers.member("Bente"), now, "E2", guests=2).code == "bookings.heads"
    assert booked(house, makers.member("Bente"), now, "E2", guests=1).guests == 1
    assert Booking.objects.count() == 2
