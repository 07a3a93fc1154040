"""The evening: who came, who sits where, sign-offs that open the bookings, notes, and who may read what."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.answers import Refused
from studiodesk.bookings import actions as bookings
from studiodesk.classes import actions
from studiodesk.classes.models import Attendance
from studiodesk.classes.queries import evening
from studiodesk.classes.rules.evening import share_out
from studiodesk.safety import actions as safety
from tests import makers

from .making import HOUR, course, outline
from .test_pages import client_of, words


def code_of(work) -> str:
    with pytest.raises(Refused) as refused:
        work()
    return refused.value.refusal.code


@given(st.integers(0, 30), st.integers(0, 8))
def test_stations_are_shared_out_evenly_and_in_order(heads: int, many: int) -> None:
    found = share_out(list(range(heads)), [100 + n for n in range(many)])
    assert len(found) == (heads if many else 0)
    sizes = [sum(station == 100 + n for station in found.values()) for n in range(many)]
    assert not sizes or max(sizes) - min(sizes) <= 1
    assert list(found.values()) == sorted(found.values())


@pytest.fixture
def on(house, now):
    """Four people in a class that signs off for RC: a member with a friend, another member, a guest."""
    manager = makers.member("Manager", is_staff=True, is_manager=True)
    need, _ = safety.set_sign_off_need(process=house.processes["rc"], now=now, by=manager)
    made = course(house, now, of=outline(house, now, signs_off=[need]))
    one, two = makers.member("Ona"), makers.member("Two")
    places = [
        actions.sign_up(course=made, heads=2, member=one, now=now),
        actions.sign_up(course=made, heads=1, member=two, now=now),
    ]
    guest = actions.sign_up(course=made, heads=1, name="Kim", email="kim@example.org", now=now)
    places.append(actions.confirm_place(place=guest, now=now))
    actions.say_need(place=places[0], words="Cannot lift trays", now=now)
    meeting = made.meetings.get()
    with time_machine.travel(meeting.stay.starts, tick=False):
        yield made, meeting, places


def test_sign_offs_in_one_go_open_the_bookings_of_members(on, house) -> None:
    made, meeting, places = on
    at = meeting.stay.starts + timedelta(days=3)

    def book(who):
        return bookings.book(
            member=who,
            station=house.stations["E1"],
            process=house.processes["rc"],
            starts=at,
            ends=at + HOUR,
            now=meeting.stay.ends,
            by=who,
        )

    who = places[0].member
    assert code_of(lambda: book(who)) == "bookings.no_sign_off"
    seats = list(made.seats.all())
    sign = lambda now: actions.sign_off_heads(meeting=meeting, seats=seats, now=now, by=made.tutor)  # noqa: E731
    assert code_of(lambda: sign(meeting.stay.starts - HOUR)) == "classes.not_begun"
    assert code_of(lambda: sign(meeting.stay.ends)) == "classes.nobody_to_sign_off"
    actions.mark_arrivals(meeting=meeting, came=seats, not_here=[], now=meeting.stay.starts, by=made.tutor)
    assert [one.name for one in sign(meeting.stay.ends)] == ["Ona", "Two"]
    assert book(who).member_id == who.pk


def test_whoever_is_marked_came_once_and_can_be_marked_absent_again(on) -> None:
    made, meeting, _places = on
    seats = list(made.seats.order_by("number"))
    starts = meeting.stay.starts
    mark = lambda came, away, at: actions.mark_arrivals(  # noqa: E731
        meeting=meeting, came=came, not_here=away, now=at, by=made.tutor
    )
    assert mark(seats[:2], seats[2:], starts) == 2
    assert mark(seats[:3], seats[3:], starts + HOUR) == 1
    assert Attendance.objects.get(seat=seats[0]).came_at == starts
    assert mark([], seats[:1], starts + HOUR) == 1
    assert Attendance.objects.get(seat=seats[0]).came_at is None


def test_everybody_gets_a_station_of_the_class_and_no_other(on, house) -> None:
    made, meeting, _places = on
    actions.share_out_stations(meeting=meeting, now=meeting.stay.starts, by=made.tutor)
    heads = evening.roster(meeting, made.tutor)
    assert [head.station.code for head in heads] == ["E3", "E3", "E4", "E4"]
    seat = heads[0].seat
    put = lambda station: actions.seat_heads(  # noqa: E731
        meeting=meeting, at={seat.pk: station}, now=meeting.stay.starts, by=made.tutor
    )
    assert code_of(lambda: put(house.stations["E1"])) == "classes.not_its_station"
    put(None)
    assert evening.roster(meeting, made.tutor)[0].station is None


def test_only_who_teaches_reads_what_people_told_the_tutor(on) -> None:
    made, _meeting, _places = on
    way = f"/classes/{made.reference}/roster/"
    assert "Cannot lift trays" in words(client_of(made.tutor).get(way))
    for person in (makers.member("S", is_staff=True), makers.member("M", is_staff=True, is_manager=True)):
        answer = client_of(person).get(way)
        assert answer.status_code == 200 and "Cannot lift trays" not in answer.content.decode()
    assert client_of(makers.member("O", is_tutor=True)).get(way).status_code == 404
    assert Client().get(way).status_code == 302


def test_a_head_without_a_name_comes_with_whoever_signed_up(on) -> None:
    made, meeting, places = on
    names = lambda: [head.name for head in evening.roster(meeting, made.tutor)]  # noqa: E731
    assert names() == ["Ona", "with Ona", "Two", "Kim"]
    actions.name_heads(place=places[0], names=["", "Loïs"], now=meeting.stay.starts)
    assert names() == ["Ona", "Loïs", "Two", "Kim"]
    page = words(client_of(made.tutor).get(f"/classes/{made.reference}/roster/"))
    assert "2. Loïs" in page


def test_the_evening_on_the_page_from_arrival_to_the_notes(on) -> None:
    made, meeting, _places = on
    client, way = client_of(made.tutor), f"/classes/{made.reference}/roster/"
    heads = [str(seat.pk) for seat in made.seats.order_by("number")]
    said = client.post(way, {"do": "came", "head": heads[:3], "key": "a"}, follow=True)
    assert "3 of 4 are here" in words(said)
    client.post(way, {"do": "share", "key": "b"})
    nobody = client.post(way, {"do": "sign", "head": heads[3:], "key": "f"}, follow=True)
    assert "None of those who are ticked can be signed off." in words(nobody)
    said = client.post(way, {"do": "sign", "head": heads, "key": "c"}, follow=True)
    assert "2 people are signed off." in words(said)
    client.post(way, {"do": "note", "notes": "The red lamp flickers", "key": "d"})
    assert client.post(way, {"do": "dance", "key": "e"}).status_code == 404
    meeting.refresh_from_db()
    assert meeting.notes == "The red lamp flickers"


def test_notes_are_read_by_whoever_teaches_the_next_one(on, house, now) -> None:
    made, meeting, _places = on
    actions.leave_note(meeting=meeting, notes="The red lamp flickers", now=now, by=made.tutor)
    later = course(house, now, days=30, of=made.outline)
    page = client_of(later.tutor).get(f"/classes/{later.reference}/roster/")
    assert "The red lamp flickers" in words(page)


def test_nobody_else_runs_the_evening(on) -> None:
    _made, meeting, _places = on
    other = makers.member("Other", is_tutor=True)
    for work in (
        lambda: actions.leave_note(meeting=meeting, notes="x", now=meeting.stay.starts, by=other),
        lambda: actions.share_out_stations(meeting=meeting, now=meeting.stay.starts, by=other),
        lambda: actions.sign_off_heads(meeting=meeting, seats=[], now=meeting.stay.starts, by=other),
    ):
        assert code_of(work) == "classes.tutors_evening"


def test_notes_with_a_character_that_no_database_keeps_are_refused_and_not_lost(on) -> None:
    made, meeting, _places = on
    client, path = client_of(made.tutor), f"/classes/{made.reference}/roster/"
    answer = client.post(path, {"do": "note", "notes": "The lamp\x00 flickers", "key": "k"})
    assert answer.status_code == 422 and "a character in it that cannot be kept" in words(answer)
    assert "flickers" in answer.content.decode()
    assert client.post(path, {"do": "note", "notes": "The lamp flickers", "key": "k2"}).status_code == 302
    meeting.refresh_from_db()
    assert meeting.notes == "The lamp flickers"
