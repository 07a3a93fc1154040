"""The day of decision, what a place costs, and what stands of a class that is moved, under way or over."""

from __future__ import annotations

import logging
from datetime import UTC, datetime, timedelta

import pytest
import time_machine

from studiodesk.classes import actions
from studiodesk.classes.actions import deciding, ending
from studiodesk.classes.models import Attendance, Course, Place
from studiodesk.classes.queries import feeds
from studiodesk.timekeeping import Span
from tests import makers

from .making import HOUR, at, course, outline
from .test_pages import client_of, words
from .test_places import code_of, guest, join, seats, told

DAY = timedelta(days=1)


@pytest.fixture
def staff(house):
    return makers.member("Staff", is_staff=True)


def moved(made: Course, span: Span, now: datetime, by) -> Course:
    actions.move_course(course=made, spans=[span], now=now, by=by)
    made.refresh_from_db()
    return made


@pytest.mark.parametrize("days", [28, 10])
def test_the_day_of_decision_goes_along_with_the_class(house, now, staff, days) -> None:
    made = course(house, now, days=14)
    moved(made, at(now, days, 0.5), now, staff)
    # So many local days, at its own hour: the class begins half an hour later than it did.
    assert made.decide_at == at(now, days - 3).starts
    assert actions.decide_due(now=made.decide_at - timedelta(seconds=1)) == 0
    assert actions.decide_due(now=made.decide_at) == 1


def test_moved_so_near_that_its_day_would_have_passed_it_is_left_to_staff(house, now, staff) -> None:
    made = moved(course(house, now, days=14), at(now, 2), now, staff)
    assert made.decide_at is None
    assert actions.decide_due(now=now + 2 * DAY - HOUR) == 0


def test_what_is_decided_stays_decided_when_it_moves(house, now, staff) -> None:
    made = course(house, now, days=14)
    before = made.decide_at
    actions.decide(course=made, goes=True, now=now, by=staff)
    assert moved(made, at(now, 28), now, staff).decide_at == before


def test_the_day_of_decision_is_so_many_local_days_before(house, now) -> None:
    """Summer time begins in the European Union on the last Sunday of March at 01:00 UTC (Directive 2000/84/EC)."""
    starts = datetime(2027, 3, 30, 17, tzinfo=UTC)  # Tuesday, 19:00 in Amsterdam, summer time
    made = course(house, now, spans=[Span(starts, starts + 3 * HOUR)])
    assert made.decide_at == datetime(2027, 3, 27, 18, tzinfo=UTC)  # Saturday, 19:00 in Amsterdam, winter time


def test_a_time_over_which_the_clock_jumps_is_refused_when_a_class_moves(house, now, staff) -> None:
    made = course(house, now)
    with time_machine.travel(now, tick=False):
        sent = {"do": "move", "first_day": "2027-03-28", "begins": "02:30", "key": "m"}
        answer = client_of(staff).post(f"/classes/{made.reference}/plan/", sent)
    assert answer.status_code == 409 and "the clock jumps over that time" in words(answer)


def test_a_party_that_shrinks_late_pays_for_all_who_had_a_place(house, now, staff) -> None:
    made = course(house, now, days=14)
    party, early = join(made, now, 2), join(made, now, 2, makers.member("Early"))
    late = now + 8 * DAY
    assert actions.shrink(place=early, heads=1, now=now, by=early.member).price_minor == 4500
    smaller = actions.shrink(place=party, heads=1, now=late, by=party.member)
    assert (smaller.heads, smaller.price_minor, seats(made)) == (1, 9000, 2)
    gone = actions.give_up(place=smaller, now=late, by=party.member)
    assert gone.was_late and gone.price_minor == 9000


def test_a_party_shrinks_for_less_after_a_move_and_where_the_house_takes_heads_away(house, now, staff) -> None:
    made = course(house, now, days=14)
    party, other = join(made, now, 2), join(made, now, 2, makers.member("Other"))
    late = now + 8 * DAY
    assert actions.shrink(place=other, heads=1, now=late, by=staff, by_house=True).price_minor == 4500
    moved(made, at(now, 13), late, staff)
    assert actions.shrink(place=party, heads=1, now=late + HOUR, by=party.member).price_minor == 4500


def test_the_page_says_that_the_price_stays_due_only_where_it_does(house, now, staff) -> None:
    made = course(house, now, days=14)
    place = join(made, now, 2)
    late, said = now + 8 * DAY, "the price stays due"
    way = f"/places/{place.pk}/"
    with time_machine.travel(late, tick=False):
        assert said in words(client_of(place.member).get(way))
        assert said not in words(client_of(staff).get(way)), "what staff take away costs nothing"
        moved(made, at(now, 13), late, staff)
        assert said not in words(client_of(place.member).get(way)), "after a move it costs nothing"
        client_of(place.member).post(way, {"do": "give_up", "key": "g"})
    place.refresh_from_db()
    assert (place.state, place.was_late) == ("ended", False)


def test_what_is_kept_until_an_answer_is_kept_until_the_start_at_most(house, now, staff) -> None:
    made = course(house, now, days=14)
    leaver = join(made, now, 4)
    waits = join(made, now, 2, makers.member("Waits"), wait=True)
    actions.give_up(place=leaver, now=now, by=leaver.member)
    asked = guest(made, now)
    soon = Span(now + HOUR, now + 4 * HOUR)
    moved(made, soon, now, staff)
    assert set(Place.objects.exclude(state="ended").values_list("state", "until")) == {
        ("offered", soon.starts),
        ("asked", soon.starts),
    }
    assert code_of(lambda: actions.confirm_place(place=asked, now=soon.starts)) == "classes.place_ended"
    assert code_of(lambda: actions.accept_offer(place=waits, now=soon.starts)) == "classes.offer_over"
    last = soon.starts - timedelta(minutes=10)
    assert guest(made, last, email="late@example.org").until == soon.starts


def test_calling_off_what_is_under_way_keeps_who_came_and_the_dates_that_were_held(house, now, staff) -> None:
    of = outline(house, now, meetings=2)
    made = course(house, now, of=of, spans=[at(now, 14), at(now, 21)])
    place = join(made, now, 2)
    first = made.meetings.order_by("stay__starts").first()
    there = at(now, 14).starts + HOUR
    actions.mark_arrivals(meeting=first, came=[place.seats.first()], not_here=[], now=there, by=staff)
    actions.call_off_course(course=made, because="The tutor is ill", now=there + DAY, by=staff)
    assert Attendance.objects.get().came_at == there and seats(made) == 1
    made.refresh_from_db()
    status = [feeds.occurrence(made, one.stay, house.studio).status for one in made.meetings.select_related("stay")]
    assert [one.upper() for one in status] == ["CONFIRMED", "CANCELLED"]


def test_a_place_taken_away_half_way_keeps_who_came(house, now, staff) -> None:
    of = outline(house, now, meetings=2)
    made = course(house, now, of=of, spans=[at(now, 14), at(now, 21)])
    place = join(made, now, 2)
    there = at(now, 14).starts + HOUR
    first = made.meetings.order_by("stay__starts").first()
    actions.mark_arrivals(meeting=first, came=[place.seats.first()], not_here=[], now=there, by=staff)
    actions.give_up(place=place, now=there + DAY, by=staff, by_house=True)
    assert Attendance.objects.filter(came_at=there).count() == 1


def test_what_is_over_is_neither_called_off_nor_decided(house, now, staff) -> None:
    made = course(house, now)
    over = at(now).ends
    off = lambda: actions.call_off_course(course=made, because="Ill", now=over, by=staff)  # noqa: E731
    assert code_of(off) == "classes.is_over"
    assert code_of(lambda: actions.decide(course=made, goes=True, now=over, by=staff)) == "classes.is_over"
    with time_machine.travel(over, tick=False):
        sent = {"do": "call_off", "because": "Ill", "key": "c"}
        answer = client_of(staff).post(f"/classes/{made.reference}/plan/", sent)
    assert answer.status_code == 409 and "This class is over." in words(answer), words(answer)
    made.refresh_from_db()
    assert made.decided == ""


def test_one_class_that_cannot_be_decided_keeps_none_waiting(house, now, monkeypatch, caplog) -> None:
    of = outline(house, now)
    broken, well = course(house, now, of=of, days=14), course(house, now, of=of, days=15)
    honest = deciding.rules.decision

    theirs = join(broken, now, 2)
    join(well, now, 2, makers.member("Comes"))

    def decision(least, parties):
        if theirs.pk in {party.key for party in parties}:
            raise ZeroDivisionError
        return honest(least, parties)

    monkeypatch.setattr(deciding.rules, "decision", decision)
    with caplog.at_level(logging.ERROR):
        assert actions.decide_due(now=well.decide_at) == 1
    assert f"course {broken.pk} was left as it is" in caplog.text
    well.refresh_from_db(), broken.refresh_from_db()
    assert (well.decided, broken.decided) == ("go", "")


def test_one_place_that_cannot_be_ended_keeps_none_waiting(house, now, monkeypatch, caplog) -> None:
    made = course(house, now)
    first, second = guest(made, now), guest(made, now, email="b@example.org")
    honest = ending.end_place

    def end_place(row, *args, **more):
        if row.pk == first.pk:
            raise ZeroDivisionError
        honest(row, *args, **more)

    monkeypatch.setattr(ending, "end_place", end_place)
    with caplog.at_level(logging.ERROR):
        assert actions.end_run_out(now=now + 2 * HOUR) == 1
    first.refresh_from_db(), second.refresh_from_db()
    assert (first.state, second.state) == ("asked", "ended") and f"place {first.pk} was left" in caplog.text


def test_who_let_an_offer_run_out_is_asked_again_with_the_next_sweep_and_before_a_stranger(house, now) -> None:
    made = course(house, now)
    leaver = join(made, now, 4)
    only = join(made, now, 4, makers.member("Only"), wait=True)
    actions.give_up(place=leaver, now=now, by=leaver.member)
    after = now + DAY
    assert actions.end_run_out(now=after) == 1
    only.refresh_from_db()
    assert (only.state, only.offers_run_out) == ("waiting", 1)
    assert code_of(lambda: join(made, after, 1, makers.member("Stranger"))) == "classes.full"
    assert actions.end_run_out(now=after + HOUR / 60) == 1
    only.refresh_from_db()
    assert (only.state, told("classes.offered")) == ("offered", ["Only", "Only"])
    assert actions.end_run_out(now=after + HOUR / 30) == 0


def test_in_the_last_hour_who_waits_takes_what_is_free_on_their_page(house, now) -> None:
    made = course(house, now, days=14)
    leaver = join(made, now, 4)
    waits = join(made, now, 2, makers.member("Waits"), wait=True)
    more = join(made, now, 3, makers.member("More"), wait=True)
    last = at(now).starts - HOUR / 2
    client, way = client_of(waits.member), f"/places/{waits.pk}/"
    with time_machine.travel(last, tick=False):
        assert "Take it" not in words(client.get(way))
        actions.give_up(place=leaver, now=last, by=leaver.member)
        assert actions.end_run_out(now=last) == 0 and told("classes.offered") == []
        assert "There is room for you now." in words(client.get(way))
        client.post(way, {"do": "accept", "key": "a"})
        assert code_of(lambda: actions.accept_offer(place=more, now=last, by=more.member)) == "classes.no_offer"
    waits.refresh_from_db(), more.refresh_from_db()
    assert (waits.state, more.state, seats(made)) == ("booked", "waiting", 2)


def test_a_changed_need_under_the_same_key_is_no_second_press(house, now) -> None:
    place = join(course(house, now), now)
    client, way = client_of(place.member), f"/places/{place.pk}/"
    with time_machine.travel(now, tick=False):
        answers = [
            client.post(way, {"do": "need", "words": said, "key": "n"}).status_code
            for said in ("Nuts", "Nuts", "Nuts and milk")
        ]
    assert answers[:2] == [302, 302] and answers[2] != 302, "the changed words were taken for the ones before"
    assert place.private_need.words == "Nuts"
