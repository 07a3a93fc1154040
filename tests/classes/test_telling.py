"""Who is told what of a class: tutors as tutors, only whom it concerns, and whatever letters somebody wants."""

from __future__ import annotations

from datetime import timedelta

import pytest

from studiodesk import tasks
from studiodesk.classes import actions
from studiodesk.classes.models import PrivateNeed
from studiodesk.desk import actions as desk
from studiodesk.journal import actions as journal
from studiodesk.journal.models import Entry, Notice
from tests import makers

from .making import HOUR, at, course
from .test_places import guest, join, told


@pytest.fixture
def staff(house):
    return makers.member("Staff", is_staff=True)


def letters(outbox, person) -> dict[str, str]:
    """Subject up to its colon → body, of what one person got."""
    return {one.subject.split(":")[0]: one.body for one in outbox if one.to == [person.email]}


def test_the_tutor_is_told_that_it_moved_and_that_it_takes_place_as_whoever_teaches(house, now, staff, outbox) -> None:
    tutor = makers.member("Tutor", is_tutor=True)
    made = course(house, now, tutor=tutor)
    who = join(made, now).member
    actions.move_course(course=made, spans=[at(now, 16)], now=now, by=staff)
    actions.decide(course=made, goes=True, now=now, by=staff)
    tasks.CHORES["letters"](now)
    theirs, whose = letters(outbox, tutor), letters(outbox, who)
    assert "You are down to teach it" in theirs["Other times"] and "Friday 11 December 2026" in theirs["Other times"]
    assert "you teach it" in theirs["It takes place"] and f"/classes/{made.reference}/" in theirs["It takes place"]
    for body in theirs.values():
        assert "Hello Tutor," in body and "give your place back" not in body and "Reference" not in body
    assert "it costs nothing" in whose["Other times"] and "you teach" not in whose["It takes place"]


def test_a_tutor_is_told_nothing_of_what_they_did_and_their_letters_name_no_place(house, now, outbox) -> None:
    tutor = makers.member("Tutor", is_tutor=True)
    made = course(house, now, tutor=tutor)
    place = join(made, now)
    actions.move_course(course=made, spans=[at(now, 16)], now=now, by=tutor)
    assert told("classes.moved") == [place.member.name]
    keys = list(Notice.objects.filter(person=tutor).values_list("unique_key", flat=True))
    assert keys and all(not key.split(":")[1].isdigit() for key in keys)


def test_it_takes_place_is_said_to_who_has_a_place_and_not_why(house, now, staff, outbox) -> None:
    made = course(house, now)
    booked = join(made, now, 3)
    guest(made, now)
    join(made, now, 2, makers.member("Waits"), wait=True)
    actions.decide(course=made, goes=True, now=now, by=staff)
    assert set(told("classes.goes")) == {booked.member.name, "Tutor"}
    tasks.CHORES["letters"](now)
    assert "Enough people" not in letters(outbox, booked.member)["It takes place"]


def test_a_place_that_staff_take_away_is_told_to_who_wants_no_confirmations(house, now, staff, outbox) -> None:
    made, who = course(house, now, days=3), makers.member("Quiet")
    journal.choose_letters(person=who, wanted={"confirmations": False}, now=now, by=who)
    place = join(made, now, 1, who)
    actions.give_up(place=place, now=now, by=staff, by_house=True)
    tasks.CHORES["letters"](now)
    said = letters(outbox, who)
    assert list(said) == ["Taken back by the house"] and "Nothing is due" in said["Taken back by the house"]


def test_the_places_of_who_left_go_to_the_line_and_they_are_told(house, now, staff, outbox) -> None:
    who = makers.member("Leaver")
    made, other = course(house, now), course(house, now, days=20)
    place, waits = join(made, now, 4, who), join(made, now, 1, makers.member("Waits"), wait=True)
    join(other, now, 4, makers.member("All"))
    in_line = join(other, now, 1, who, wait=True)
    page = makers_client(staff).get(f"/people/{who.number}/standing/").content.decode()
    assert "places in 2 classes to come" in page
    assert desk.let_go(person=who, cancel_bookings=False, now=now, by=staff) == 0
    for one in (place, waits, in_line):
        one.refresh_from_db()
    assert (place.state, place.ended_because, waits.state, in_line.state) == ("ended", "taken away", "offered", "ended")
    tasks.CHORES["letters"](now)
    assert "Taken back by the house" in letters(outbox, who)


def makers_client(person):
    from django.test import Client

    client = Client()
    client.force_login(person)
    return client


def test_the_place_in_a_class_that_has_begun_stays_with_who_left(house, now, staff) -> None:
    made, who = course(house, now), makers.member("Leaver")
    place = join(made, now, 1, who)
    desk.let_go(person=who, cancel_bookings=True, now=now + timedelta(days=14, hours=1), by=staff)
    place.refresh_from_db()
    assert place.state == "booked"


def test_another_tutor_is_written_down_also_by_whoever_gives_it_away(house, now) -> None:
    one, two = (makers.member(name, is_tutor=True) for name in ("One", "Two"))
    made = course(house, now, tutor=one)
    actions.set_tutor(course=made, tutor=two, now=now, by=one)
    entry = Entry.objects.get(code="classes.tutor_set")
    assert (entry.facts, entry.actor_id) == ({"from": one.pk, "to": two.pk}, one.pk)
    assert told("classes.you_teach_no_more") == [] and "Two" in told("classes.you_teach")


def test_what_the_tutor_had_to_know_goes_with_the_class_that_is_called_off(house, now, staff) -> None:
    made = course(house, now)
    actions.say_need(place=join(made, now), words="A nut allergy", now=now)
    actions.call_off_course(course=made, because="No water", now=now + HOUR, by=staff)
    assert not PrivateNeed.objects.exists()
