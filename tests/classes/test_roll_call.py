"""Whoever came to a class is in the roll-call and counts against the house's limit, until they have left."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine

from studiodesk.answers import Refused
from studiodesk.bookings import actions as bookings
from studiodesk.bookings import queries
from studiodesk.bookings.models import Visit
from studiodesk.classes import actions
from studiodesk.classes.queries import evening
from studiodesk.classes.queries.evening import heads_in
from studiodesk.journal.models import Entry
from studiodesk.safety import actions as safety
from tests import makers

from .making import HOUR, at, course, outline
from .test_pages import client_of, words


@pytest.fixture
def on(house, now):
    """A member with a friend who has no name yet, and a guest; it begins now."""
    made = course(house, now, of=outline(house, now, decide_days=None))
    actions.sign_up(course=made, heads=2, member=makers.member("Ona"), now=now)
    guest = actions.sign_up(course=made, heads=1, name="Kim", email="kim@example.org", now=now)
    actions.confirm_place(place=guest, now=now)
    meeting = made.meetings.get()
    with time_machine.travel(meeting.stay.starts, tick=False):
        yield made, meeting, list(made.seats.order_by("number"))


def inside(house, now):
    return queries.in_house(now, house.studio)


def names(house, now) -> list[str]:
    return sorted(row.name for row in inside(house, now).rows)


def mark(made, meeting, came, away=(), *, now=None, by=None) -> int:
    now = now or meeting.stay.starts
    return actions.mark_arrivals(meeting=meeting, came=came, not_here=list(away), now=now, by=by or made.tutor)


def test_heads_that_came_are_in_by_name_with_the_tutor_and_a_slip_leaves_no_trace(on, house) -> None:
    made, meeting, seats = on
    starts = meeting.stay.starts
    assert names(house, starts) == []
    mark(made, meeting, seats)
    assert names(house, starts) == ["Kim", "Ona", "Ona", "Tutor"]  # the friend is known by who signed them up
    assert inside(house, starts).heads == 4
    assert [(group.title, heads) for group, heads in inside(house, starts).groups] == [("First prints", 4)]
    mark(made, meeting, seats)
    assert inside(house, starts).heads == 4
    mark(made, meeting, [], seats[2:])
    assert names(house, starts) == ["Ona", "Ona", "Tutor"]
    assert not Visit.objects.filter(name="Kim").exists()


def test_somebody_who_is_in_already_counts_once(on, house) -> None:
    made, meeting, seats = on
    starts = meeting.stay.starts
    bookings.come_in(kind="tutor", person=made.tutor, now=starts - HOUR, by=made.tutor)
    mark(made, meeting, seats[:1])
    assert inside(house, starts).heads == 2
    actions.all_left(meeting=meeting, now=meeting.stay.ends, by=made.tutor)
    # the tutor came for more than the class
    assert names(house, meeting.stay.ends) == ["Tutor"]


def test_all_leave_at_one_press_and_a_class_nobody_signed_out_is_forgotten_in_the_end(on, house) -> None:
    made, meeting, seats = on
    mark(made, meeting, seats)
    ends = meeting.stay.ends
    row = next(row for row in inside(house, ends + HOUR).rows if row.name == "Kim")
    assert (row.ends, row.group) == (ends, meeting.stay)
    assert inside(house, ends + timedelta(hours=11)).heads == 4
    assert inside(house, ends + timedelta(hours=12, seconds=1)).heads == 0
    assert actions.all_left(meeting=meeting, now=ends, by=made.tutor) == 3
    assert actions.all_left(meeting=meeting, now=ends + HOUR, by=made.tutor) == 0
    assert inside(house, ends).heads == 0
    assert set(Visit.objects.values_list("left_at", flat=True)) == {ends}
    assert Entry.objects.get(code="bookings.group_left").facts == {"heads": 4}


def test_the_desk_may_say_it_and_a_member_may_not(on, house) -> None:
    made, meeting, seats = on
    mark(made, meeting, seats)
    way = f"/door/group/{meeting.stay_id}/gone/"
    assert client_of(makers.member("Mo")).post(way).status_code == 403
    desk = client_of(makers.member("Kees", is_keyholder=True))
    page = words(desk.get("/desk/"))
    assert "First prints: 4 people in" in page and "4 in" in page
    assert "First prints: everybody has left." in words(desk.post(way, follow=True))
    assert desk.post("/door/group/999999/gone/").status_code == 404
    assert inside(house, meeting.stay.starts).heads == 0
    with pytest.raises(Refused) as refused:
        bookings.group_gone(group=meeting.stay, now=meeting.stay.ends, by=makers.member("Other", is_tutor=True))
    assert refused.value.refusal.code == "bookings.not_your_group"


def test_a_class_fills_the_house_for_whoever_walks_in(on, house) -> None:
    made, meeting, seats = on
    type(house.studio).objects.update(heads_at_once=4)
    mark(made, meeting, seats)
    staff = makers.member("Staff", is_staff=True)
    with pytest.raises(Refused) as refused:
        bookings.come_in(kind="walk-in", name="Walker", now=meeting.stay.starts, by=staff)
    assert refused.value.refusal.code == "bookings.house_full_now"


def test_the_roll_and_the_door_sheet_name_every_head(on, house) -> None:
    made, meeting, seats = on
    actions.name_heads(place=seats[0].place, names=["Ona", "Björk Ægisdóttir 李"], now=meeting.stay.starts)
    mark(made, meeting, list(made.seats.order_by("number")))
    staff = client_of(makers.member("Staff", is_staff=True))
    page = words(staff.get("/roll/"))
    assert "Björk Ægisdóttir 李" in page and "Kim , First prints" in page
    sheet = words(staff.get(f"/door-sheet/{meeting.stay.starts:%Y-%m-%d}/"))
    assert (
        "Tutor, leads it" in sheet
        and "Booth 3, Booth 4" in sheet
        and "Björk Ægisdóttir 李, with Ona" in sheet
        and "Kim" in sheet
    )
    assert "Nothing is booked on this day" not in sheet


def test_two_phones_at_the_roster_do_not_undo_each_other(on, house) -> None:
    made, _meeting, seats = on
    way = f"/classes/{made.reference}/roster/"
    tutor, staff = client_of(made.tutor), client_of(makers.member("Staff", is_staff=True))
    one, two, three = (str(seat.pk) for seat in seats)
    tutor.post(way, {"do": "came", "head": [one], "key": "a"})
    # an older page, on which nobody was here yet
    said = staff.post(way, {"do": "came", "head": [two], "key": "b"}, follow=True)
    assert "Kept: 2 of 3 are here." in words(said)
    said = tutor.post(way, {"do": "came", "head": [one, three], "was": [one, two], "key": "c"}, follow=True)
    assert "Kept: 2 of 3 are here." in words(said)  # two was taken back, three came


@pytest.fixture
def club(house, now):
    staff = makers.member("Staff", is_staff=True)
    of = outline(house, now, code="club", name="Club night", sort="open evening", heads_most=12, heads_a_station=6)
    made = actions.announce(outline=of, spans=[at(now, 7)], tutor=staff, now=now, by=staff)
    meeting = made.meetings.get()
    with time_machine.travel(meeting.stay.starts, tick=False):
        yield made, meeting, staff


def test_people_who_just_come_are_counted_and_the_roll_call_has_them_as_one_line(club, house) -> None:
    _made, meeting, staff = club
    now = meeting.stay.starts
    tally = lambda came, in_: actions.set_tally(meeting=meeting, came=came, inside=in_, now=now, by=staff)  # noqa: E731
    assert tally(3, 3).tally == 3
    tally(5, 4)
    assert (heads_in(meeting), inside(house, now).heads) == (4, 4)
    assert [(row.name, row.heads) for row in inside(house, now).rows] == [("Club night", 4)]
    with pytest.raises(Refused) as refused:
        tally(3, 4)
    assert refused.value.refusal.code == "classes.more_in_than_came"
    tally(5, 0)
    assert inside(house, now).heads == 0
    tally(6, 1)
    assert inside(house, now).heads == 1


def test_the_page_of_a_club_night_counts_at_one_press(club) -> None:
    made, _meeting, staff = club
    client, way = client_of(staff), f"/classes/{made.reference}/roster/"
    for key in "abc":
        client.post(way, {"do": "one", "key": key})
    client.post(way, {"do": "one", "key": "c"})  # a second press of the same button
    page = words(client.post(way, {"do": "off", "key": "d"}, follow=True))
    assert "In now: 2 of 12 at most. Came so far: 3 ." in page
    answer = client.post(way, {"do": "both", "came": "2", "inside": "5", "key": "e"})
    assert answer.status_code == 422 and "No more can be in than came" in words(answer)
    answer = client.post(way, {"do": "both", "came": "x", "inside": "", "key": "f"})
    assert answer.status_code == 422
    client.post(way, {"do": "both", "came": "14", "inside": "12", "key": "g"})
    assert "It is full" in words(client.get(way))
    client.post(way, {"do": "all", "key": "h"})
    assert "In now: 0 of 12" in words(client.get(way))
    assert client.post(way, {"do": "dance", "key": "i"}).status_code == 404


def test_a_class_has_no_tally(on) -> None:
    made, meeting, _seats = on
    with pytest.raises(Refused) as refused:
        actions.set_tally(meeting=meeting, came=1, inside=1, now=meeting.stay.starts, by=made.tutor)
    assert refused.value.refusal.code == "classes.not_drop_in"


def test_whoever_goes_home_early_is_out_of_the_roll_call_and_came_all_the_same(on, house) -> None:
    made, meeting, seats = on
    way = f"/classes/{made.reference}/roster/"
    tutor = client_of(made.tutor)
    keys = [str(seat.pk) for seat in seats]
    tutor.post(way, {"do": "came", "head": keys, "key": "a"})
    said = words(tutor.post(way, {"do": "some", "head": keys[:2], "was": keys, "key": "b"}, follow=True))
    assert "1 person has left." in said and "2 of 3 are here" in said and "left 15:00" in said
    assert names(house, meeting.stay.starts) == ["Ona", "Ona", "Tutor"]
    said = words(tutor.post(way, {"do": "some", "head": keys[:2], "was": keys, "key": "c"}, follow=True))
    assert "0 people have left." in said
    assert evening.roster(meeting, made.tutor)[2].came_at is not None


def test_signing_off_keeps_who_is_ticked_and_the_roster_shows_who_is_signed_off(house, now) -> None:
    manager = makers.member("Manager", is_staff=True, is_manager=True)
    need, _ = safety.set_sign_off_need(process=house.processes["rc"], now=now, by=manager)
    made = course(house, now, of=outline(house, now, decide_days=None, signs_off=[need]))
    actions.sign_up(course=made, heads=2, member=makers.member("Ona"), now=now)
    meeting = made.meetings.get()
    keys = [str(seat.pk) for seat in made.seats.order_by("number")]
    with time_machine.travel(meeting.stay.starts + HOUR, tick=False):
        client, way = client_of(made.tutor), f"/classes/{made.reference}/roster/"
        said = words(client.post(way, {"do": "sign", "head": keys[:1], "key": "s"}, follow=True))
        assert "1 person is signed off." in said and "1 of 2 are here" in said
        assert "1. Ona · signed off" in said and "2. with Ona · signed off" not in said


def test_a_visit_forgotten_yesterday_keeps_nobody_off_the_roll_call(on, house) -> None:
    made, meeting, seats = on
    starts = meeting.stay.starts
    old = bookings.come_in(kind="tutor", person=made.tutor, now=starts - timedelta(days=1), by=made.tutor)
    mark(made, meeting, seats[:1])
    assert names(house, starts) == ["Ona", "Tutor"]
    old.refresh_from_db()
    assert old.left_at == old.came_at + timedelta(hours=16)


def test_nobody_is_in_for_a_class_before_the_door_opens_for_it(on, house) -> None:
    made, meeting, seats = on
    early = meeting.stay.starts - timedelta(minutes=61)
    with pytest.raises(Refused) as refused:
        mark(made, meeting, seats, now=early)
    assert refused.value.refusal.code == "classes.not_begun"
    assert mark(made, meeting, seats, now=early + timedelta(minutes=1)) == 3


def test_who_is_ticked_after_the_class_came_and_is_in_no_roll_call(on, house) -> None:
    made, meeting, seats = on
    later = meeting.stay.ends + HOUR
    assert mark(made, meeting, seats[:2], now=later) == 2
    assert names(house, later) == []
    assert [head.came_at is not None for head in evening.roster(meeting, made.tutor)] == [True, True, False]


def test_a_class_that_moves_lets_go_of_whoever_came_early(on, house) -> None:
    made, meeting, seats = on
    at_the_door = meeting.stay.starts - timedelta(minutes=30)
    mark(made, meeting, seats, now=at_the_door)
    staff = makers.member("Staff", is_staff=True)
    actions.move_course(course=made, spans=[at(at_the_door, 7)], now=at_the_door, by=staff)
    assert names(house, at_the_door) == ["Tutor"]  # who is in the house all the same
    assert not any(head.came_at for head in evening.roster(made.meetings.get(), made.tutor))
