"""Taking something out of service, and putting it back."""

import re

import pytest

from studiodesk.bookings.models import Hold
from tests import makers
from tests.desk.evening import client_of, text


def closing(house, code, **change):
    return {
        "thing": f"station {house.stations[code].pk}",
        "first_day": "2026-11-26",
        "first_time": "10:00",
        "last_day": "2026-11-28",
        "last_time": "12:00",
        "reason": "lamp",
    } | change


def test_a_station_is_closed_over_several_days_and_given_back(house, keyholder, clock):
    client = client_of(keyholder)
    assert client.post("/desk/close/", closing(house, "S1")).status_code == 302
    assert Hold.objects.count() == 3  # no hold is longer than a day
    page = client.get("/desk/close/")
    assert "Scanning station, Thursday 26 November 2026 10:00 to Saturday 28 November 2026 12:00: lamp" in text(page)
    fields = dict(re.findall(r'name="(thing|starts|ends)" value="([^"]+)"', page.content.decode()))
    assert client.post("/desk/reopen/", fields).status_code == 302
    assert Hold.objects.count() == 0


def test_a_processor_is_closed_with_all_its_places(house, keyholder, clock):
    processor = house.processors["P-RC"]
    answer = client_of(keyholder).post(
        "/desk/close/", closing(house, "S1", thing=f"processor {processor.pk}", last_day="2026-11-26")
    )
    assert answer.status_code == 302
    assert Hold.objects.filter(lane__resource=processor.resource).count() == 4


def test_a_closure_is_refused_with_the_bookings_that_stand_in_the_way(evening, house, keyholder):
    answer = client_of(keyholder).post("/desk/close/", closing(house, "S1"))
    assert answer.status_code == 422
    assert "11:00 to 12:00" in text(answer) and "Dirk" in text(answer)
    assert f"/bookings/{evening['dirk'].pk}/" in answer.content.decode()
    assert 'value="lamp"' in answer.content.decode()  # what was typed is kept
    assert not Hold.objects.exclude(cause="booking").exists()


@pytest.mark.parametrize(
    "change",
    [
        {"thing": "station 999"},
        {"thing": "member 1"},
        {"thing": "station ²"},
        {"last_day": "2026-11-25"},
        {"last_day": "2029-11-25"},
        {"first_day": "0001-01-01"},
        {"last_day": "9999-12-31"},
        {"first_day": "2026-03-29", "first_time": "02:30"},
        {"reason": ""},
        {"first_time": "25:00"},
    ],
)
def test_a_closure_that_makes_no_sense_is_refused_in_the_form(house, keyholder, clock, change):
    answer = client_of(keyholder).post("/desk/close/", closing(house, "S1", **change))
    assert answer.status_code == 422 and "to put right" in text(answer)
    assert not Hold.objects.exists()


def test_a_closure_of_more_than_thirty_days_is_asked_about_once_more(house, keyholder, clock):
    client = client_of(keyholder)
    page = client.get("/desk/close/").content.decode()
    assert 'name="mean_it"' not in page and '<option value="" selected>Choose</option>' in page
    wish = closing(house, "S1", last_day="2026-12-26", last_time="10:01")
    answer = client.post("/desk/close/", wish)
    assert answer.status_code == 422 and not Hold.objects.exists()
    assert "That is 30 days. Tick this if it is so." in text(answer) and 'name="mean_it"' in answer.content.decode()
    assert client.post("/desk/close/", wish | {"mean_it": "on"}).status_code == 302
    assert Hold.objects.count() == 31
    assert (
        client.post("/desk/close/", closing(house, "E1", last_day="2026-12-26", last_time="10:00")).status_code == 302
    )


@pytest.mark.parametrize("fields", [{}, {"thing": "x"}, {"thing": "station 1", "starts": "5", "ends": "4"}])
def test_giving_back_what_is_not_closed_changes_nothing(house, keyholder, clock, fields):
    assert client_of(keyholder).post("/desk/reopen/", fields).status_code in {302, 409}


def test_a_member_closes_nothing(house, clock):
    client = client_of(makers.member("Adri"))
    assert client.post("/desk/close/", closing(house, "S1")).status_code == 403
    assert not Hold.objects.exists()
