"""The desk's part of the door, and the roll-call."""

import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studiodesk.bookings import actions
from studiodesk.bookings.models import Visit
from studiodesk.journal.models import Entry
from studiodesk.stations import actions as stations
from tests import shifting
from tests.door.world import at, client_of, rule, text

pytestmark = pytest.mark.usefixtures("clock")


def on_shift(keyholder, staff, clock):
    """The keyholder has today's shift, and the clock stands in it."""
    first = shifting.planned(at(9), by=staff)[0]
    stations.take_shift(shift=first, now=at(9), by=keyholder)
    clock.move_to(max(at(15), first.starts))
    return first


def test_the_desk_asks_about_the_sheets_after_a_sign_out(people, booked, clock):
    actions.arrive(booking=booked["adri"], now=at(13), by=people["adri"])
    clock.move_to(at(16))
    kim = client_of(people["kim"])
    page = kim.post(f"/desk/out/{booked['adri'].pk}/", follow=True)
    assert "Adri logged nothing in 3 h at Booth 1." in text(page)
    assert f'href="/sheets/?who=b{booked["adri"].pk}&amp;processor=P-RC"' in page.content.decode()
    form = kim.get(f"/sheets/?who=b{booked['adri'].pk}&processor=P-RC").content.decode()
    assert f'<option value="b{booked["adri"].pk}" selected>' in form and '<option value="P-RC" selected>' in form
    answer = kim.post(f"/door/said/{booked['adri'].pk}/", {"said": "unknown", "at": "desk"})
    assert answer["Location"] == "/desk/"
    assert "logged nothing" not in text(kim.get(f"/desk/?done=out-{booked['adri'].pk}"))


def test_the_desk_lets_in_a_walk_in_who_stands_on_it_until_they_have_left(people, booked):
    kim, key = client_of(people["kim"]), uuid.uuid4().hex
    for _press in range(2):
        page = text(
            kim.post("/door/walk-in/", {"name": "Wim", "heads": "2", "phone": "06 12", "key": key}, follow=True)
        )
    assert "Wim is in." in page and "In the house: 2 of 24 people at most." in page
    assert "In without a booking Wim (2 people), walk-in · since 15:00" in page
    visit = Visit.objects.get()
    assert (visit.kind, visit.heads, visit.emergency_phone, visit.noted_by) == ("walk-in", 2, "06 12", people["kim"])
    page = text(kim.post(f"/door/gone/{visit.pk}/", {"at": "desk"}, follow=True))
    assert "They are signed out." in page and "In without a booking" not in page


def test_a_walk_in_without_a_name_is_put_right_and_nothing_typed_is_lost(people, booked):
    answer = client_of(people["kim"]).post("/door/walk-in/", {"name": " ", "heads": "30", "phone": "06 12", "key": "k"})
    assert answer.status_code == 422 and "2 things to put right" in text(answer)
    assert 'value="06 12"' in answer.content.decode() and not Visit.objects.exists()


def full(house):
    stations.describe_studio(
        name="Ostermill Darkroom", time_zone="Europe/Amsterdam", currency="EUR", grid_minutes=15, heads_at_once=1
    )


def test_a_full_house_is_said_and_only_staff_are_asked_why(house, people, booked):
    actions.arrive(booking=booked["adri"], now=at(13), by=people["adri"])
    full(house)
    kim, sef, path = client_of(people["kim"]), client_of(people["sef"]), f"/desk/in/{booked['bente'].pk}/"
    assert "The house is full: nobody else may come in." in text(kim.get("/desk/"))
    answer = kim.post(path)
    assert answer.status_code == 409 and "Bente cannot come in just now" in text(answer)
    assert "The house is full: 1 in, 1 to come, and room for 1 person at once." in text(answer)
    assert "Why they may come in" not in text(answer) and "Why they may come in" in text(sef.post(path))
    assert "this is missing" in text(sef.post(path, {"override": " "}))
    assert text(sef.post(path, {"override": "fetches a print"}, follow=True)).count("Bente is signed in.") == 1
    assert "There are more people in the house than it may hold." in text(kim.get("/desk/"))


def test_a_walk_in_into_a_full_house_needs_a_reason_of_staff(house, people, booked):
    actions.arrive(booking=booked["adri"], now=at(13), by=people["adri"])
    full(house)
    sent = {"name": "Wim", "heads": "1", "key": uuid.uuid4().hex}
    answer = client_of(people["kim"]).post("/door/walk-in/", sent)
    assert answer.status_code == 409 and "Wait until somebody signs out, or ask staff." in text(answer)
    sef = client_of(people["sef"])
    answer = sef.post("/door/walk-in/", sent)
    assert answer.status_code == 409 and 'value="Wim"' in answer.content.decode()
    assert "Why they may come in all the same" in text(answer)
    page = sef.post("/door/walk-in/", sent | {"override": "the plumber", "key": uuid.uuid4().hex}, follow=True)
    assert "Wim is in." in text(page)
    assert Entry.objects.get(code="bookings.came_in").facts["reason"] == "the plumber"


def test_the_desk_and_the_roll_say_plainly_when_too_few_are_in(people, booked):
    rule("least_heads", 2)
    actions.arrive(booking=booked["adri"], now=at(13), by=people["kim"])
    sef = client_of(people["sef"])
    for path in ("/desk/", "/roll/"):
        assert "Only 1 person is in the house, and its rule is at least 2." in text(sef.get(path))
    actions.come_in(kind="keyholder", person=people["kim"], now=at(14), by=people["kim"])
    for path in ("/desk/", "/roll/"):
        assert "Only 1 person" not in text(sef.get(path))


def test_the_desk_says_who_sits_where_the_next_begins_before_and_after(house, people, booked, clock):
    actions.arrive(booking=booked["adri"], now=at(13), by=people["adri"])
    kim = client_of(people["kim"])
    clock.move_to(at(17, 4))
    assert "still sits at" not in text(kim.get("/desk/"))
    clock.move_to(at(17, 5))
    said = "Adri still sits at Booth 1, over since 17:00: Dirk begins there at 17:15."
    assert said in text(kim.get("/desk/"))


def test_a_booking_that_was_given_back_is_no_longer_expected(people, booked, clock):
    rule("no_show_minutes", 30)
    kim = client_of(people["kim"])
    assert "Bente, Booth 2, expected 14:30" in text(kim.get("/desk/"))
    actions.release_no_shows(now=at(15))
    assert "Bente" not in text(kim.get("/desk/"))
    assert "was given back at 15:00" in text(client_of(people["bente"]).get("/door/"))


def test_the_desk_asks_no_more_questions_however_many_are_in_the_house(house, people, booked):
    kim = client_of(people["kim"])
    kim.get("/desk/")
    actions.arrive(booking=booked["adri"], now=at(13), by=people["adri"])
    counts = []
    for number in range(3):
        with CaptureQueriesContext(connection) as asked:
            kim.get("/desk/")
        counts.append(len(asked))
        actions.come_in(kind="walk-in", name=f"W{number}", now=at(14), by=people["kim"])
    assert counts[0] == counts[1] == counts[2]


# ---- the roll-call ----


def test_the_roll_names_everybody_where_since_when_and_whom_to_call(people, booked, clock):
    adri = people["adri"]
    adri.emergency_name, adri.emergency_phone = "Ans", "06 1234"
    adri.save(update_fields=["emergency_name", "emergency_phone"])
    actions.arrive(booking=booked["adri"], now=at(13), by=adri)
    actions.come_in(kind="walk-in", name="Wim", phone="06 99", now=at(14), by=people["kim"])
    clock.move_to(at(17, 30))
    said = text(client_of(people["sef"]).get("/roll/"))
    assert "This list rescues nobody." in said and "call the local emergency number" in said
    assert "In the house: 2 of 24 people at most." in said
    assert "Adri Ans: 06 1234 13:00 over since 17:00 Booth 1, RC processor" in said
    assert "Wim, walk-in 06 99 14:00 in the house" in said


def test_staff_see_the_roll_always_and_a_keyholder_only_on_shift(people, booked, clock):
    shut = {who: client_of(people[who]).get("/roll/") for who in ("adri", "tess", "kim")}
    assert {answer.status_code for answer in shut.values()} == {403}
    assert "only staff see it, and a keyholder during their own shift" in text(shut["kim"])
    assert client_of(people["sef"]).get("/roll/").status_code == 200
    first = on_shift(people["kim"], people["sef"], clock)
    kim = client_of(people["kim"])
    assert kim.get("/roll/").status_code == 200
    assert 'href="/roll/"' in kim.get("/").content.decode() and 'href="/roll/"' in kim.get("/door/").content.decode()
    # One who is a keyholder no more keeps nothing of it, shift or not.
    people["kim"].is_keyholder = False
    people["kim"].save(update_fields=["is_keyholder"])
    assert client_of(people["kim"]).get("/roll/").status_code == 403
    people["kim"].is_keyholder = True
    people["kim"].save(update_fields=["is_keyholder"])
    clock.move_to(first.ends.replace(hour=23))
    assert client_of(people["kim"]).get("/roll/").status_code == 403
    assert 'href="/roll/"' not in client_of(people["kim"]).get("/").content.decode()
