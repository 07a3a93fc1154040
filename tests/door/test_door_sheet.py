"""The day's sheet for the door: what stands on it, and who sees the telephone numbers."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studiodesk.bookings import actions
from studiodesk.stations.actions import describe_kit
from tests import makers
from tests.door.world import at, book, client_of, rule, text


@pytest.mark.usefixtures("clock")
def test_the_sheet_says_of_every_booking_what_the_door_needs(house, people, booked):
    rule("guests", 3)
    book(house, people["tess"], "E2", at(19), at(21), guests=2)
    said = text(client_of(people["kim"]).get("/door-sheet/"))
    assert "Door sheet, Wednesday 25 November 2026" in said
    assert "13:00 17:00 Adri Booth 1, Black-and-white, RC 10:30 16:57" in said
    assert "18:00 21:00 Cato Booth 3, Colour, RA-4 10:45 20:54" in said
    assert "19:00 21:00 Tess with 2 guests Booth 2" in said
    assert said.index("Adri") < said.index("Bente") < said.index("Dirk") < said.index("Cato") < said.index("Tess")
    assert "This list rescues nobody" in said and "light-tight bag" in said


@pytest.mark.usefixtures("clock")
def test_kit_and_whoever_is_to_be_supervised_are_marked(house, people, booked):
    from studiodesk.safety import actions as safety

    safety.set_sign_off_need(process=house.processes["ra4"], now=at(9), by=None)
    safety.set_sign_off_need(process=house.processes["rc"], now=at(9), by=None)
    safety.give_sign_off(member=people["adri"], process=house.processes["rc"], now=at(9), by=people["sef"])
    lens, _made = describe_kit(code="L50", name="50 mm lens", sort="lens", pieces=3, now=at(9))
    actions.change(booking=booked["adri"], new=actions.New(kit={lens: 2}), now=at(12), by=people["kim"])
    page = client_of(people["kim"]).get("/door-sheet/").content.decode()
    rows = {name: row for row in page.split("<tr>") for name in ("Adri", "Cato") if f">{name}<" in row}
    assert "2 × 50 mm lens" in rows["Adri"] and "to be supervised" not in rows["Adri"]
    assert "to be supervised" in rows["Cato"]


@pytest.mark.usefixtures("clock")
def test_only_who_may_call_the_roll_sees_whom_to_call(house, people, booked):
    adri = people["adri"]
    adri.emergency_name, adri.emergency_phone = "Ans", "06 1234"
    adri.save(update_fields=["emergency_name", "emergency_phone"])
    assert "06 1234" not in text(client_of(people["kim"]).get("/door-sheet/"))
    staff = text(client_of(people["sef"]).get("/door-sheet/"))
    assert "Ans: 06 1234" in staff and "shred it afterwards" in staff
    assert client_of(adri).get("/door-sheet/").status_code == 403


@pytest.mark.usefixtures("clock")
def test_another_day_an_empty_day_and_a_day_that_is_none(house, people, booked):
    kim = client_of(people["kim"])
    assert "Nothing is booked on this day" in text(kim.get("/door-sheet/2026-11-26/"))
    assert "Adri" in text(kim.get("/door-sheet/2026-11-25/"))
    assert kim.get("/door-sheet/2026-13-45/").status_code == 404 == kim.get("/door-sheet/9999-12-31/").status_code


@pytest.mark.usefixtures("clock")
def test_the_sheet_asks_no_more_questions_however_many_bookings_there_are(house, people, booked):
    sef, counts = client_of(people["sef"]), []
    sef.get("/door-sheet/")
    for number in range(2):
        with CaptureQueriesContext(connection) as asked:
            sef.get("/door-sheet/")
        counts.append(len(asked))
        book(house, makers.member(f"X{number}"), "S1", at(16 + number), at(17 + number), None)
    assert counts[0] == counts[1]
