"""Booking, seeing and cancelling, through Django's client: what the pages say and what they refuse."""

from __future__ import annotations

from typing import Any
from urllib.parse import parse_qsl, urlsplit

import pytest
import time_machine
from django.test import Client

from studiodesk.bookings.models import Booking
from studiodesk.safety.models import SafetyAcknowledgement, SafetyNote
from tests import makers
from tests.bookings.paging import HOUR, NOW, TOMORROW, WISH, book, client_of, key, page


@pytest.fixture(autouse=True)
def _frozen() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


def test_before_booking_the_page_says_what_you_will_get(house: Any, adri: Any) -> None:
    soup = page(client_of(adri).get("/book/", WISH))
    text = " ".join(soup.text.split())
    for expected in (
        "Thursday 26 November 2026, 13:00 to 15:00 (2 h)",
        "Ready time 10:30",
        "Last sheet in 14:57",
        "Paper travels in a light-tight bag that is shut before the door opens",
        "15 minutes after it are kept for you to clear up",
    ):
        assert expected in text


def test_booking_leads_to_the_booking_and_a_second_press_books_nothing_more(house: Any, adri: Any) -> None:
    client, same = client_of(adri), key()
    first = client.post("/book/", WISH | same)
    again = client.post("/book/", WISH | same)
    assert first.status_code == again.status_code == 302
    assert first["Location"] == again["Location"]
    assert Booking.objects.count() == 1
    text = " ".join(page(client.get(first["Location"])).text.split())
    assert "Booth 1, Thursday 26 November 2026" in text
    assert "To come" in text


def test_the_same_key_with_another_wish_is_refused_and_without_one_too(house: Any, adri: Any) -> None:
    client, same = client_of(adri), key()
    client.post("/book/", WISH | same)
    assert client.post("/book/", WISH | {"station": "E2"} | same).status_code == 422
    assert client.post("/book/", WISH | {"station": "E2"}).status_code == 400
    assert Booking.objects.count() == 1


def test_taken_is_a_page_with_what_is_free_near_it(house: Any, adri: Any) -> None:
    book(house, makers.member("Bente"))
    client = client_of(adri)
    response = client.post("/book/", WISH | key())
    soup = page(response)
    assert (response.status_code, soup.h1.text) == (409, "Taken")
    assert "Bente" not in soup.text
    links = list(soup.select("main ul.plain a"))
    texts = [" ".join(a.text.split()) for a in links]
    assert "Booth 2, Thu 26 Nov, 13:00 to 15:00" in texts
    assert "Thu 26 Nov, 15:15 to 17:15, Booth 1" in texts
    assert "What you will get" in client.get(str(links[0]["href"])).content.decode()


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"begins": "13:05"}, "id_begins", "whole steps of 15 min"),
        ({"until": "13:00"}, "id_until", "end has to come after the start"),
        ({"day": "2026-11-24"}, "id_begins", "has gone by"),
        ({"begins": "08:00"}, "id_begins", "nearest opening"),
        ({"process": ""}, "id_process", "a booth is booked with a place"),
        ({"station": "E9"}, "id_station", "choose one of the list"),
        ({"day": "2027-03-28", "begins": "02:30", "until": "05:00"}, "id_begins", "clock goes forward"),
        ({"begins": ""}, "id_begins", "this is missing"),
    ],
)
def test_what_can_be_put_right_is_said_at_its_field(
    house: Any, adri: Any, change: dict[str, str], field: str, words: str
) -> None:
    response = client_of(adri).post("/book/", WISH | change | key())
    soup = page(response)
    assert response.status_code == 422
    line = soup.select_one("#problems a")
    assert line is not None
    assert line["href"] == f"#{field}"
    assert words in line.text
    assert soup.select_one(f"#{field}") is not None
    assert Booking.objects.count() == 0


def test_a_station_with_one_process_or_none_asks_for_none(house: Any, adri: Any) -> None:
    client = client_of(adri)
    one = page(client.get("/book/", WISH | {"station": "E2", "process": ""}))
    assert "Black-and-white, RC" in one.select_one("dl.facts").text
    none = page(client.get("/book/", WISH | {"station": "S1"}))
    assert "light-tight" not in none.text
    assert none.select_one("section.sheet button.act") is not None
    assert client.post("/book/", WISH | {"station": "S1"} | key()).status_code == 302
    assert Booking.objects.get().process is None


def test_the_safety_note_stands_before_the_button_and_leads_back(house: Any, adri: Any) -> None:
    note = SafetyNote.objects.create(
        processor=house.processors["P-RC"], version=1, title="N", body="Gloves.", published_at=makers.LONG_AGO
    )
    client = client_of(adri)
    soup = page(client.get("/book/", WISH))
    link = soup.select_one('a.act[href^="/safety/P-RC/"]')
    assert link is not None
    back = dict(parse_qsl(urlsplit(str(link["href"])).query))["next"]
    assert dict(parse_qsl(urlsplit(back).query)) == WISH
    assert client.post("/book/", WISH | key()).status_code == 409
    SafetyAcknowledgement.objects.create(note=note, member=adri, acknowledged_at=NOW)
    assert "a.act" not in str(page(client.get(back)).select_one("section.sheet a.act"))
    assert client.post("/book/", WISH | key()).status_code == 302


def test_cancelling_is_one_press_and_can_be_booked_again(house: Any, adri: Any) -> None:
    booking, client = book(house, adri), client_of(adri)
    assert client.get(f"/bookings/{booking.pk}/cancel/").status_code == 405
    response = client.post(f"/bookings/{booking.pk}/cancel/", follow=True)
    soup = page(response)
    assert "Cancelled on" in soup.text
    again = soup.select_one("main a.act")
    assert again is not None
    assert "What you will get" in client.get(str(again["href"])).content.decode()
    assert client.post(f"/bookings/{booking.pk}/cancel/").status_code == 302, "a second press is no fault"
    house_client = client_of(makers.member("Kim", is_keyholder=True))
    assert house_client.post(f"/bookings/{booking.pk}/cancel/").status_code == 409


def test_booking_again_what_the_desk_cancelled_is_for_the_same_person(house: Any, adri: Any) -> None:
    booking, kim = book(house, adri), makers.member("Kim", is_keyholder=True)
    soup = page(client_of(kim).post(f"/bookings/{booking.pk}/cancel/", follow=True))
    again = soup.select_one("main a.act")
    assert again is not None
    assert dict(parse_qsl(urlsplit(str(again["href"])).query)) == WISH | {"whom": adri.number}
    own = page(client_of(adri).get(f"/bookings/{booking.pk}/")).select_one("main a.act")
    assert own is not None
    assert dict(parse_qsl(urlsplit(str(own["href"])).query)) == WISH


@pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01", "2032-01-01", "2021-01-01"])
def test_a_day_years_away_is_said_at_its_field_and_one_in_reach_is_not(house: Any, adri: Any, day: str) -> None:
    client = client_of(adri)
    asked = {"kind": "enlarger booth", "process": "rc", "length": "120"}
    sentence = "Choose a day within five years of today."
    for path, fields in (("/book/", WISH), ("/find/", asked), ("/day/", {})):
        name = "on" if path == "/day/" else "day"
        answer = client.get(path, {**fields, name: day})
        assert answer.status_code in (200, 422)
        assert sentence in page(answer).text
        near = client.get(path, {**fields, name: "2030-11-26"}, follow=True)
        assert near.status_code == 200
        assert sentence not in near.content.decode()
    assert client.post("/book/", WISH | {"day": day} | key()).status_code == 422


def test_an_end_before_the_start_is_after_midnight_only_if_a_booking_can_be_so_long(house: Any, adri: Any) -> None:
    client = client_of(adri)

    def said(begins: str, until: str) -> str:
        return page(client.get("/book/", WISH | {"begins": begins, "until": until})).text

    for begins, until in (("14:00", "13:00"), ("13:00", "13:00"), ("11:00", "10:45"), ("13:00", "01:15")):
        assert "The end has to come after the start" in said(begins, until)
    for begins, until in (("21:00", "01:00"), ("13:00", "01:00"), ("13:00", "00:00")):
        assert "The end has to come after the start" not in said(begins, until)
        assert "The house is not open for all of that time" in said(begins, until)


def test_a_link_without_a_process_asks_for_it_and_says_nothing_is_wrong(house: Any, adri: Any) -> None:
    client = client_of(adri)
    line = page(client.get("/day/2026-11-26/enlarger-booth/")).select_one("section.strip[aria-labelledby=line-e1] a")
    assert line is not None
    soup = page(client.get(str(line["href"])))
    assert soup.select_one("#problems") is None
    assert soup.select_one(".wrong") is None
    assert soup.select_one("details[open]") is not None
    assert soup.select("#id_process option")[0].text == "Choose …"
    assert soup.select_one("#id_process option[selected]")["value"] == ""
    assert soup.select_one("#id_station option[selected]")["value"] == "E1"
    assert soup.select_one("#id_begins")["value"] == "10:00"
    answered = page(client.get(str(line["href"]) + "&process=rc"))
    assert answered.select_one("section.sheet button.act") is not None
    left_open = page(client.get(str(line["href"]) + "&process="))
    assert "a booth is booked with a place" in left_open.select_one("#problems").text


def test_another_persons_booking_is_not_found_to_see_or_to_cancel(house: Any, adri: Any) -> None:
    booking, other = book(house, adri), client_of(makers.member("Bente"))
    assert other.get(f"/bookings/{booking.pk}/").status_code == 404
    assert other.post(f"/bookings/{booking.pk}/cancel/").status_code == 404
    booking.refresh_from_db()
    assert booking.cancelled_at is None


def test_my_bookings_part_what_comes_from_what_has_gone(house: Any, adri: Any) -> None:
    first, second = book(house, adri), book(house, adri, "E2", 3)
    with time_machine.travel(TOMORROW + 2.5 * HOUR, tick=False):
        soup = page(client_of(adri).get("/bookings/"))
    assert [a["href"] for a in soup.select("main ul.plain a")] == [f"/bookings/{second.pk}/"]
    assert "You did not come" in soup.table.text
    assert str(first.pk) in soup.table.a["href"]


def test_nobody_gets_in_without_logging_in(house: Any, adri: Any) -> None:
    booking = book(house, adri)
    for path in (
        "/day/",
        "/day/2026-11-26/enlarger-booth/",
        "/find/",
        "/book/",
        "/bookings/",
        f"/bookings/{booking.pk}/",
    ):
        response = Client().get(path)
        assert response.status_code == 302
        assert "/log-in/" in response["Location"] or "log" in response["Location"]
    assert Client().post("/book/", WISH | key()).status_code == 302
    assert Booking.objects.count() == 1


def test_staff_book_for_a_member_by_number_and_a_member_cannot(house: Any, adri: Any) -> None:
    staff = makers.member("Sam", is_staff=True)
    client_of(staff).post("/book/", WISH | {"whom": adri.number, "begins": "13:05"} | key())
    assert Booking.objects.get().member == adri
    client_of(adri).post("/book/", WISH | {"whom": staff.number, "begins": "16:00", "until": "17:00"} | key())
    assert [b.member for b in Booking.objects.order_by("pk")] == [adri, adri]


def test_a_cancelled_booking_says_no_more_when_its_processor_is_ready(house: Any, adri: Any) -> None:
    client = client_of(adri)
    client.post("/book/", {**WISH, "key": "k"})
    row = Booking.objects.get()
    assert "Last sheet in" in page(client.get(f"/bookings/{row.pk}/")).main.text
    client.post(f"/bookings/{row.pk}/cancel/")
    said = page(client.get(f"/bookings/{row.pk}/")).main.text
    assert "Reference" in said and "Last sheet in" not in said and "Clear-up" not in said
