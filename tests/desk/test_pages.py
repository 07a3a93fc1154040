"""The desk, the first page, and what staff see of a person."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from studiodesk.bookings.models import Booking
from studiodesk.chemistry import actions as chemistry
from tests import makers
from tests.chemistry.pages import soup_of
from tests.desk.evening import at, book, client_of, text


def test_the_desk_says_who_is_in_who_is_late_what_to_warm_and_who_comes_next(evening, keyholder):
    said = text(client_of(keyholder).get("/desk/"))
    assert "Not here yet: 1" in said and "Bente, Booth 2, expected 14:30" in said
    assert "Adri, Booth 1, since 13:05, until 17:00" in said
    # Warm-up takes 45 minutes; the RC processor is on already, for its first booking has begun.
    assert "Warm up Colour processor by 17:15, for Cato at 18:00" in said
    assert "Warm up RC processor" not in said
    assert "18:00 Cato, Booth 3, Colour, RA-4" in said
    assert "11:00 Dirk, Scanning station" in said
    assert said.index("Warm up") < said.index("Not here yet") < said.index("since 13:05") < said.index("Dirk")


def test_the_desk_begins_with_how_much_there_is_to_do_and_each_number_leads_there(house, evening, keyholder, now):
    client = client_of(keyholder)

    def line():
        page = soup_of(client.get("/desk/"))
        links = page.select('#desk-now > p.row a[href^="#"]')
        assert all(page.find(id=link["href"][1:]).name == "h2" for link in links)
        return [" ".join(link.get_text().split()) for link in links], bool(page.select("#desk-now > p.row svg"))

    assert line() == (["1 thing to do", "1 not here yet", "1 signed in", "next at 18:00"], False)
    fix = house.baths["P-RC", "fix"]
    for kind in ("permit ends", "drift", "evaporation", "pump off"):
        chemistry.raise_alert(kind=kind, key=kind, bath=fix, processor=fix.processor, now=now)
    said, stops = line()
    assert said[0] == "5 things to do" and not stops  # three of the alerts have a line of their own
    alert = chemistry.raise_alert(kind="at its end", key="e", bath=fix, now=now)
    said, stops = line()
    assert said[0] == "6 things to do" and stops  # the task and its alert are one
    chemistry.clear_alert(key=alert.key, now=now)
    chemistry.raise_alert(kind="contaminated", key="c", bath=fix, now=now)
    said, stops = line()
    assert said[0] == "6 things to do" and stops


def test_a_desk_with_nothing_to_do_says_so_first(house, keyholder, clock):
    page = soup_of(client_of(keyholder).get("/desk/"))
    assert page.select_one("#desk-now > p.row").get_text(" ", strip=True) == "Nothing to do 0 signed in"


def test_a_warm_up_that_was_due_is_said_to_be_late(evening, keyholder, clock):
    clock.move_to(at(17, 15))
    said = text(client_of(keyholder).get("/desk/"))
    assert "Warm up Colour processor now: it should have begun warming at 17:15, for Cato at 18:00" in said


def test_someone_whose_time_is_over_and_who_is_still_in_stands_out(evening, keyholder, clock):
    clock.move_to(at(17, 20))
    assert "since 13:05, over since 17:00" in text(client_of(keyholder).get("/desk/"))


def test_sheets_make_replenishment_due_at_the_desk_at_once_with_a_way_to_give_it(house, keyholder, clock, now):
    page = text(client_of(keyholder).get("/desk/"))
    assert "Nothing: no bath is tired" in page and "Last checked at 15:00" in page
    # 30 sheets of 203 × 254 mm at 500 mL/m² are 773 mL: fifteen whole measures of 50 mL.
    chemistry.log_sheets(
        processor=house.processors["P-RC"], sheet=house.sizes["203x254"], sheets=30, kind="print", who="walk-in",
        fed_at=now, now=now, by=keyholder,
    )  # fmt: skip
    answer = client_of(keyholder).get("/desk/")
    assert "Give 15 measures of 50 mL to Fix, RC processor Given to Fix" in text(answer)
    assert 'href="/baths/P-RC/fix/"' in answer.content.decode()
    assert 'href="/baths/P-RC/fix/replenishment/"' in answer.content.decode()


def test_a_bath_past_its_capacity_stands_first_as_spent_and_names_what_ran_out(evening, house, keyholder, now):
    # 3 L at 1.6 m²/L are 4.8 m²: 24 sheets of 406 × 508 mm are 4.95 m².
    chemistry.log_sheets(
        processor=house.processors["P-CO"], sheet=house.sizes["406x508"], sheets=24, kind="print", who="walk-in",
        fed_at=now, now=now, by=keyholder,
    )  # fmt: skip
    said = text(client_of(keyholder).get("/desk/"))
    assert "Change: Dev, Colour processor: spent, 103 % used, capacity runs out first Bath change" in said
    assert said.index("Change: Dev") < said.index("Warm up")


def test_a_bath_that_will_be_too_old_within_two_days_is_said_with_the_hour(house, keyholder, clock, now):
    """Changed at 15:00 it may stand for 21 days: 38 hours before that the desk names the hour, earlier it does not."""
    chemistry.record_bath_entry(bath=house.baths["P-CO", "dev"], event="refill", at=now, now=now, by=keyholder)
    clock.move_to(now + timedelta(days=21) - timedelta(hours=38))
    assert "Change soon: Dev, Colour processor: by 15:00 tomorrow, tired, 92 % used" in text(
        client_of(keyholder).get("/desk/")
    )
    clock.move_to(now + timedelta(days=21) - timedelta(hours=2))
    assert "by 15:00 today, tired" in text(client_of(keyholder).get("/desk/"))
    clock.move_to(now + timedelta(days=18))
    said = text(client_of(keyholder).get("/desk/"))
    assert "Change soon: Dev, Colour processor: tired, 85 % used" in said
    clock.move_to(now + timedelta(days=21))
    assert "Change: Dev, Colour processor: spent, 100 % used, shelf life" in text(client_of(keyholder).get("/desk/"))


def test_signing_in_and_out_moves_people_and_can_be_taken_back(evening, keyholder):
    client, bente = client_of(keyholder), evening["bente"]
    page = client.post(f"/desk/in/{bente.pk}/", follow=True)
    assert "Bente is signed in." in text(page) and "Bente, Booth 2, since 15:00" in text(page)
    assert "Undo: Bente is not here" in text(page)
    client.post(f"/desk/in/{bente.pk}/", {"undo": "1"})
    assert "Undo" not in text(client.get(f"/desk/?done=in-{bente.pk}"))
    assert Booking.objects.get(pk=bente.pk).arrived_at is None
    page = client.post(f"/desk/out/{evening['adri'].pk}/", follow=True)
    assert "Undo: Adri is still here" in text(page) and "Adri, Booth 1, since" not in text(page)
    # It can be taken back later too, and whoever came by a slip can be sent back among those to come.
    page = text(client.get("/desk/"))
    assert "Left today Adri, Booth 1, left 15:00 Adri is still here" in page
    client.post(f"/desk/out/{evening['adri'].pk}/", {"undo": "1"})
    assert "Adri, Booth 1, since 13:05" in text(client.get("/desk/"))
    assert client.post("/desk/in/999999/").status_code == 404
    # Pressed twice it was done once; far too early is a page that says so.
    assert client.post(f"/desk/in/{evening['adri'].pk}/").status_code == 302
    assert Booking.objects.get(pk=evening["adri"].pk).arrived_at == at(13, 5)
    assert client.post(f"/desk/in/{evening['dirk'].pk}/").status_code == 409


@pytest.mark.parametrize("done", ["x", "in-", "in-²", "out-99999999", "in-1-2", "by-1", "in-" + "9" * 30])
def test_an_undo_of_what_was_not_done_is_not_offered(evening, keyholder, done):
    answer = client_of(keyholder).get("/desk/", {"done": done})
    assert answer.status_code == 200 and "Undo" not in text(answer)


def test_a_member_is_signed_in_by_nobody_but_the_house(evening):
    for who in (evening["bente"].member, makers.member("Toos", is_tutor=True)):
        client = client_of(who)
        assert client.get("/desk/").status_code == 403
        assert client.post(f"/desk/in/{evening['bente'].pk}/").status_code == 403
    assert Booking.objects.get(pk=evening["bente"].pk).arrived_at is None


def test_the_desk_asks_at_most_fifteen_questions_however_many_there_are(evening, house, keyholder, now):
    client = client_of(keyholder)
    client.get("/desk/")
    with CaptureQueriesContext(connection) as few:
        client.get("/desk/")
    for number in range(8):
        book(house, makers.member(f"X{number}"), "S1", None, at(12 + number, day=26), at(13 + number, day=26))
    with CaptureQueriesContext(connection) as many:
        client.get("/desk/")
    print(f"desk: {len(many)} questions")
    assert len(few) == len(many) <= 15, [query["sql"] for query in many.captured_queries]


# ---- the first page, people -----------------------------------------------------------------------------------------


def test_a_stranger_sees_what_the_place_is_and_nobody_s_name(evening):
    said = text(Client().get("/"))
    assert "Ostermill Darkroom" in said and "Enlarger booth: 4" in said and "Tuesday 10:00 to 22:00" in said
    assert "Monday closed" in said and "Log in" in said
    assert not any(name in said for name in ("Adri", "Bente", "Cato", "Dirk"))


def test_a_stranger_sees_a_page_even_before_a_studio_is_described(db):
    answer = Client().get("/")
    assert answer.status_code == 200 and "What can be done here" not in text(answer)


def test_before_a_studio_is_described_no_page_leads_round_in_a_circle(db):
    client = client_of(makers.member("Eva"))
    first = client.get("/")
    assert "No studio has been described yet." in text(first) and 'class="act"' not in first.content.decode()
    refused = client.get("/find/")
    assert refused.status_code == 409 and "Look again at the day" not in text(refused)


def test_a_member_sees_their_next_booking_and_the_notes_they_have_to_read(evening, house, now):
    from studiodesk.safety.actions import publish_note

    publish_note(processor=house.processors["P-CO"], title="Before colour", body="Gloves.", now=now)
    said = text(client_of(evening["cato"].member).get("/"))
    assert "Wednesday 25 November 2026 18:00 to 21:00" in said and "Before colour" in said
    assert "You have nothing booked." in text(client_of(makers.member("Eva")).get("/"))


def test_staff_see_a_person_s_bookings_notes_and_roles_as_they_changed(evening, now):
    from studiodesk.people.actions import set_roles

    manager, cato = makers.member("Max", is_staff=True, is_manager=True), evening["cato"].member
    set_roles(person=cato, roles=["tutor"], now=now, by=manager)
    said = text(client_of(manager).get(f"/people/{cato.number}/"))
    assert "1 booked, came 0 times, 0 cancelled" in said
    assert "Wed 25 Nov, 18:00 to 21:00" in said
    assert "Roles changed; now also tutor (Max)" in said
    assert client_of(manager).get("/people/nobody-9/").status_code == 404
