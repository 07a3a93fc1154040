"""The pages on which somebody makes and revokes the addresses that their calendar reads."""

from __future__ import annotations

import re

import pytest
import time_machine

from studiodesk.bookings.models import CalendarLink
from tests import makers
from tests.desk.calendars import booked, client_of, events, linked, read, text


@pytest.fixture(autouse=True)
def frozen(now):
    with time_machine.travel(now, tick=False):
        yield


@pytest.fixture
def adri(house):
    return makers.member("Adri")


def test_the_address_is_shown_once_and_works(house, adri, now):
    mine, client = booked(house, adri, now), client_of(adri)
    assert client.get("/you/calendar/").status_code == 200
    answer = client.post("/you/calendar/", {"key": "k1"}, follow=True)
    shown = re.findall(r"http://testserver/calendar/([\w-]{43})\.ics", text(answer))
    assert len(shown) == 1 and "webcal://testserver/calendar/" in answer.content.decode()
    assert events(read(shown[0]))[0]["UID"].startswith(f"booking-{mine.reference}@")
    again = client.get("/you/calendar/").content.decode()
    assert shown[0] not in again and "Made on Wed 25 Nov at 15:00" in again and "Last read Wed 25 Nov" in again


def test_two_presses_of_the_button_make_one_address(house, adri, now):
    client = client_of(adri)
    for _ in range(2):
        assert client.post("/you/calendar/", {"key": "same"}).status_code == 302
    assert CalendarLink.objects.count() == 1
    assert "/calendar/" in text(client.get("/you/calendar/"))
    assert client.post("/you/calendar/", {}).status_code == 400  # without its key nobody could tell


def test_a_member_who_asks_for_a_station_gets_their_own_bookings_and_staff_get_the_station(house, adri, now):
    client_of(adri).post("/you/calendar/", {"key": "k", "station": "E1"})
    assert CalendarLink.objects.get().station is None
    boss = client_of(makers.member("Sef", is_staff=True))
    assert "Booth 2" in text(boss.get("/you/calendar/")) and "Booth 2" not in text(
        client_of(adri).get("/you/calendar/")
    )
    assert boss.post("/you/calendar/", {"key": "k", "station": "NONE"}).status_code == 422
    answer = boss.post("/you/calendar/", {"key": "k2", "station": "E1"}, follow=True)
    assert "The address for Booth 1" in text(answer)
    assert CalendarLink.objects.filter(station=house.stations["E1"]).count() == 1


def test_too_many_addresses_are_refused_in_the_form(house, adri, now):
    for _ in range(10):
        linked(adri, now)
    answer = client_of(adri).post("/you/calendar/", {"key": "k"})
    assert answer.status_code == 409 and "You have 10 calendar links that work" in text(answer)


def test_revoking_asks_first_and_only_the_owner_may(house, adri, now):
    link, token = linked(adri, now)
    path = f"/you/calendar/{link.pk}/revoke/"
    assert client_of(makers.member("Sef", is_staff=True)).post(path).status_code == 404
    client = client_of(adri)
    assert "Revoke this address?" in text(client.get(path)) and read(token).status_code == 200
    assert "Revoked." in text(client.post(path, follow=True))
    assert read(token).status_code == 404 and client.get(path).status_code == 404


def test_a_booking_s_page_offers_the_booking_as_a_file(house, adri, now):
    one, client = booked(house, adri, now), client_of(adri)
    path = f"/bookings/{one.pk}/calendar.ics"
    assert path in client.get(f"/bookings/{one.pk}/").content.decode()
    answer = client.get(path)
    [event] = events(answer)
    assert event["UID"] == f"booking-{one.reference}@localhost" and b"METHOD" not in answer.content
    assert answer["Content-Disposition"] == f'attachment; filename="booking-{one.pk}.ics"'
    assert client_of(makers.member("Bo")).get(path).status_code == 404
