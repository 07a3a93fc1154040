"""The front door on a member's own phone."""

import uuid

import pytest

from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, Visit
from studiodesk.chemistry import actions as chemistry
from studiodesk.chemistry.models import Feed
from studiodesk.journal.models import Entry
from tests.door.world import at, client_of, rule, text

pytestmark = pytest.mark.usefixtures("clock")


def log(house, booking, when, count=5):
    return chemistry.log_sheets(
        processor=booking.processor, sheet=house.sizes["203x254"], sheets=count, kind="print", who="booking",
        booking=booking, fed_at=when, now=when,
    )  # fmt: skip


# ---- signing in and out ----


def test_a_member_signs_in_and_out_at_the_door(people, booked, clock):
    client, pk = client_of(people["bente"]), booked["bente"].pk
    clock.move_to(at(14))
    said = text(client.get("/door/"))
    assert "Booth 2, 14:30 to 18:00" in said and "Ready time 10:30" in said and "Last sheet in 17:57" in said
    assert "light-tight bag" in said and "Put the phone away" in said
    said = text(client.post(f"/door/in/{pk}/", follow=True))
    assert "You are signed in." in said and "You signed in at 14:00. Your time goes until 18:00." in said
    clock.move_to(at(17, 30))
    said = text(client.post(f"/door/out/{pk}/", follow=True))
    assert "You are signed out." in said and "You logged nothing in 3 h 30 min at Booth 2." in said
    row = Booking.objects.get(pk=pk)
    assert (row.arrived_at, row.left_at) == (at(14), at(17, 30))
    assert Entry.objects.filter(code__in=["bookings.arrived", "bookings.left"], actor=people["bente"]).count() == 2


def test_the_door_says_what_cannot_be_yet_and_offers_what_can(people, booked, clock):
    said = text(client_of(people["cato"]).get("/door/"))
    assert "You can sign in from 17:00 on Wed 25 Nov." in said and "Sign in " not in said.replace("sign in from", "")
    kim = client_of(people["kim"])
    nothing = kim.get("/door/")
    assert "You have nothing booked for now" in text(nothing) and "Walk-in: ask the desk" in text(nothing)
    assert 'href="/find/"' in nothing.content.decode()
    answer = client_of(people["cato"]).post(f"/door/in/{booked['cato'].pk}/")
    assert answer.status_code == 409 and "It is too early to sign in. It is possible from" in text(answer)


def test_a_sign_out_that_was_a_slip_is_taken_back_within_a_quarter_of_an_hour(people, booked, clock):
    client, pk = client_of(people["bente"]), booked["bente"].pk
    client.post(f"/door/in/{pk}/")
    client.post(f"/door/out/{pk}/")
    clock.move_to(at(15, 15))
    assert "Undo: I am still here" in text(client.get("/door/"))
    assert "You are in again." in text(client.post(f"/door/out/{pk}/", {"undo": "1"}, follow=True))
    client.post(f"/door/out/{pk}/")
    clock.move_to(at(15, 31))
    assert "Undo" not in text(client.get("/door/"))
    client.post(f"/door/out/{pk}/", {"undo": "1"})
    assert Booking.objects.get(pk=pk).left_at == at(15, 15)


def test_nobody_signs_in_with_somebody_else_s_booking(people, booked):
    for who in ("adri", "kim", "sef"):  # the desk has its own button
        for path in ("in", "out", "sheets"):
            assert client_of(people[who]).post(f"/door/{path}/{booked['bente'].pk}/").status_code == 404
    assert client_of(people["adri"]).post(f"/door/said/{booked['bente'].pk}/", {"said": "none"}).status_code == 404
    assert Booking.objects.get(pk=booked["bente"].pk).arrived_at is None


def test_who_would_be_alone_reads_who_may_let_them_in(people, booked):
    rule("least_heads", 2)
    client = client_of(people["bente"])
    answer = client.post(f"/door/in/{booked['bente'].pk}/", {"override": "please"})
    assert answer.status_code == 409
    assert "at least 2 people are in at once; with you there would be 1. Wait for somebody else." in text(answer)
    assert "A keyholder or staff can let you in at the desk." in text(answer)


def test_a_keyholder_says_that_they_are_in_the_house_and_a_member_cannot(people, booked):
    kim = client_of(people["kim"])
    assert "You are in the house, and on the roll-call." in text(kim.post("/door/here/", follow=True))
    assert "I am in the house" not in text(client_of(people["adri"]).get("/door/"))
    assert client_of(people["adri"]).post("/door/here/").status_code == 422
    visit = Visit.objects.get()
    assert client_of(people["adri"]).post(f"/door/gone/{visit.pk}/").status_code == 404
    assert "You are signed out." in text(kim.post(f"/door/gone/{visit.pk}/", follow=True))
    client_of(people["tess"]).post("/door/here/")
    assert list(Visit.objects.values_list("kind", "person__name")) == [("keyholder", "Kim"), ("tutor", "Tess")]


def test_whoever_sits_where_the_next_begins_is_told(people, booked, clock):
    actions.arrive(booking=booked["adri"], now=at(13), by=people["adri"])
    client = client_of(people["adri"])
    clock.move_to(at(17, 6))
    assert "Your time ended at 17:00, and the next person begins here at 17:15." in text(client.get("/door/"))


# ---- the sheets ----


@pytest.fixture
def gone(people, booked, clock):
    """Adri was there from 13 to 16, logged nothing, and it is 16:00."""
    actions.arrive(booking=booked["adri"], now=at(13), by=people["adri"])
    actions.leave(booking=booked["adri"], now=at(16), by=people["adri"])
    clock.move_to(at(16))
    return booked["adri"]


@pytest.mark.parametrize("said", ["none", "unknown"])
def test_whoever_logged_nothing_answers_once(people, gone, said):
    client = client_of(people["adri"])
    assert "You logged nothing in 3 h at Booth 1." in text(client.get("/door/"))
    page = text(client.post(f"/door/said/{gone.pk}/", {"said": said}, follow=True))
    assert "Written down" in page and "You logged nothing" not in page
    assert Booking.objects.get(pk=gone.pk).sheets_said == said


def test_an_answer_that_is_none_is_a_sentence(people, gone):
    answer = client_of(people["adri"]).post(f"/door/said/{gone.pk}/", {"said": "lots"})
    assert answer.status_code == 422 and "Say that nothing was printed" in text(answer)
    assert Booking.objects.get(pk=gone.pk).sheets_said == ""


def test_whoever_logged_something_is_not_asked_and_whoever_took_it_back_is(house, people, booked, clock):
    actions.arrive(booking=booked["adri"], now=at(13), by=people["adri"])
    feed = log(house, booked["adri"], at(14))
    actions.leave(booking=booked["adri"], now=at(16), by=people["adri"])
    clock.move_to(at(16))
    client = client_of(people["adri"])
    assert "logged nothing" not in text(client.get("/door/"))
    chemistry.undo_sheets(feed=feed, now=at(16), by=people["kim"])
    assert "You logged nothing" in text(client.get("/door/"))


def test_the_sheets_can_be_added_at_the_door_and_count_from_when_they_left(house, people, gone, clock):
    client = client_of(people["adri"])
    clock.move_to(at(17))
    path = f"/door/sheets/{gone.pk}/"
    sizes = client.get(path).content.decode()
    assert "8×10 in" in sizes and "Logged for this booking" not in sizes
    sent = {"sheet": "203x254", "sheets": "6", "kind": "print", "key": uuid.uuid4().hex}
    for _press in range(2):
        page = text(client.post(path, sent, follow=True))
    assert "Logged 6 sheets of 8×10 in." in page and "6 × 8×10 in, Print" in page
    feed = Feed.objects.get()
    assert (feed.who, feed.booking_id, feed.fed_at, feed.recorded_by) == ("booking", gone.pk, at(16), people["adri"])
    assert "logged nothing" not in text(client.get("/door/"))


@pytest.mark.parametrize(
    ("wrong", "said"), [({"sheet": ""}, "Size"), ({"sheets": "0"}, "Sheets"), ({"kind": "x"}, "What")]
)
def test_sheets_that_cannot_be_are_put_right_with_what_was_typed_kept(people, gone, wrong, said):
    sent = {"sheet": "203x254", "sheets": "6", "kind": "print", "key": uuid.uuid4().hex} | wrong
    answer = client_of(people["adri"]).post(f"/door/sheets/{gone.pk}/", sent)
    assert answer.status_code == 422 and "1 thing to put right" in text(answer) and said in text(answer)
    assert not Feed.objects.exists()


def test_sheets_of_a_stay_that_is_long_over_or_not_begun_are_the_desk_s(people, booked, gone, clock):
    client = client_of(people["adri"])
    clock.move_to(at(16, day=26))
    answer = client.get(f"/door/sheets/{gone.pk}/")
    assert answer.status_code == 409 and "Tell the desk" in text(answer)
    assert client_of(people["bente"]).get(f"/door/sheets/{booked['bente'].pk}/").status_code == 409
