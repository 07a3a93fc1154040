"""Taking something out of service over whatever is booked, and putting it back."""

import re

import pytest

from studiodesk.bookings.models import Booking, Hold, Outage
from studiodesk.journal.models import Notice
from studiodesk.stations import actions as stations
from tests import makers
from tests.desk.evening import at, book, client_of, text


def closing(house, code, **change):
    return {
        "things": f"station {code}",
        "first_day": "2026-11-26",
        "first_time": "10:00",
        "last_day": "2026-11-28",
        "last_time": "12:00",
        "reason": "lamp",
        "key": "press",
    } | change


def seen_of(answer):
    """What the page that shows whom it hits sends along when it is pressed again."""
    return re.search(r'name="seen" value="([^"]+)"', answer.content.decode()).group(1)


def test_a_station_is_closed_over_several_days_and_given_back(house, keyholder, clock):
    client = client_of(keyholder)
    assert client.post("/desk/close/", closing(house, "S1")).status_code == 302
    assert Hold.objects.count() == 3  # no hold is longer than a day
    page = client.get("/desk/close/")
    assert "Scanning station, Thursday 26 November 2026 10:00 to Saturday 28 November 2026 12:00: lamp" in text(page)
    outage = Outage.objects.get()
    assert f'action="/out/{outage.pk}/end/"' in page.content.decode()
    assert client.post(f"/out/{outage.pk}/end/").status_code == 302
    assert (Hold.objects.count(), Outage.objects.count()) == (0, 0)
    assert client.post(f"/out/{outage.pk}/end/").status_code == 404


def test_a_closure_from_before_there_were_outages_is_listed_and_given_back(house, keyholder, clock):
    for lane in house.processors["P-CO"].resource.lanes.all():
        Hold.objects.create(lane=lane, starts=at(10, day=26), ends=at(20, day=26), cause="closure", reason="old")
    client = client_of(keyholder)
    page = client.get("/desk/close/")
    assert text(page).count("Colour processor, Thursday 26 November 2026, 10:00 to 20:00: old") == 1
    fields = dict(re.findall(r'name="(thing|starts|ends)" value="([^"]+)"', page.content.decode()))
    assert client.post("/desk/reopen/", fields).status_code == 302
    assert Hold.objects.count() == 0


def test_a_processor_is_closed_with_all_its_places(house, keyholder, clock):
    processor = house.processors["P-RC"]
    answer = client_of(keyholder).post(
        "/desk/close/", closing(house, "S1", things=f"processor {processor.code}", last_day="2026-11-26")
    )
    assert answer.status_code == 302
    assert Hold.objects.filter(lane__resource=processor.resource).count() == 4


def test_whom_it_hits_is_shown_before_it_is_done_and_the_second_press_does_it(evening, house, keyholder):
    client = client_of(keyholder)
    wish = closing(house, "S1")
    answer = client.post("/desk/close/", wish)
    assert answer.status_code == 409
    assert "11:00 to 12:00" in text(answer) and "Dirk" in text(answer)
    assert f"/bookings/{evening['dirk'].pk}/" in answer.content.decode()
    assert 'value="lamp"' in answer.content.decode()  # what was typed is kept
    assert not Outage.objects.exists() and not Notice.objects.filter(code="bookings.hit").exists()
    # Somebody else books there meanwhile: whoever presses is shown them first.
    seen = seen_of(answer)
    late = book(house, makers.member("Ella"), "S1", None, at(15, day=26), at(16, day=26))
    answer = client.post("/desk/close/", wish | {"seen": seen})
    assert answer.status_code == 409 and "Ella" in text(answer)
    done = client.post("/desk/close/", wish | {"seen": seen_of(answer)})
    outage = Outage.objects.get()
    assert (done.status_code, done["Location"]) == (302, f"/out/{outage.pk}/")
    told = Notice.objects.filter(code="bookings.hit").values_list("person__name", flat=True)
    assert sorted(told) == ["Dirk", "Ella"]
    assert not Booking.objects.filter(pk__in=[late.pk, evening["dirk"].pk], cancelled_at__isnull=False).exists()


def test_a_double_tap_closes_once(house, keyholder, clock):
    client = client_of(keyholder)
    for _ in range(2):
        assert client.post("/desk/close/", closing(house, "S1")).status_code == 302
    assert Outage.objects.count() == 1
    assert client.post("/desk/close/", closing(house, "S1", reason="other")).status_code == 422  # the same key
    assert Outage.objects.count() == 1


def test_looking_again_does_nothing_but_look(evening, house, keyholder):
    client = client_of(keyholder)
    looked = client.post("/desk/close/", closing(house, "E4", look="1"))
    assert looked.status_code == 200 and "Nobody is booked there" in text(looked)
    assert client.post("/desk/close/", closing(house, "S1", look="1")).status_code == 409
    assert not Outage.objects.exists()


def test_several_things_at_once_and_a_service_with_all_that_needs_it(house, keyholder, clock):
    client = client_of(keyholder)
    assert 'name="service"' not in client.get("/desk/close/").content.decode()
    two = {"things": ["station S1", "processor P-CO"], "last_day": "2026-11-26"}
    assert client.post("/desk/close/", closing(house, "S1", **two)).status_code == 302
    assert {resource.sort for resource in Outage.objects.get().resources.all()} == {"station", "processor"}
    booth = house.stations["E2"]
    stations.describe_station(
        code="E2", name=booth.name, kind=booth.kind, processes=booth.processes.all(), needs=["extraction"]
    )
    page = client.get("/desk/close/").content.decode()
    service = re.search(r'<option value="(\d+)">extraction</option>', page).group(1)
    both = closing(house, "S1", service=service, key="both")
    answer = client.post("/desk/close/", both)
    assert answer.status_code == 422 and "not both" in text(answer)
    alone = closing(house, "S1", service=service, key="alone")
    del alone["things"]
    assert client.post("/desk/close/", alone).status_code == 302
    made = Outage.objects.get(service__name="extraction")
    assert [resource.station for resource in made.resources.all()] == [booth]
    assert "(all that needs extraction)" in text(client.get(f"/out/{made.pk}/"))


@pytest.mark.parametrize(
    "change",
    [
        {"things": "station 999"},
        {"things": "member 1"},
        {"things": "station ²"},
        {"things": []},
        {"service": "77"},
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
    stations.describe_station(code="S1", name="Scanning station", kind="scanning station", needs=["power"])
    answer = client_of(keyholder).post("/desk/close/", closing(house, "S1", **change))
    assert answer.status_code == 422 and "to put right" in text(answer)
    assert not Hold.objects.exists()


def test_a_time_that_has_gone_by_is_refused_with_a_sentence(house, keyholder, clock):
    gone = closing(house, "S1", first_day="2026-11-24", last_day="2026-11-24")
    answer = client_of(keyholder).post("/desk/close/", gone)
    assert answer.status_code == 422 and "has gone by" in text(answer)


def test_a_closure_of_more_than_thirty_days_is_asked_about_once_more(house, keyholder, clock):
    client = client_of(keyholder)
    assert 'name="mean_it"' not in client.get("/desk/close/").content.decode()
    wish = closing(house, "S1", last_day="2026-12-26", last_time="10:01")
    answer = client.post("/desk/close/", wish)
    assert answer.status_code == 422 and not Hold.objects.exists()
    assert "That is 30 days. Tick this if it is so." in text(answer) and 'name="mean_it"' in answer.content.decode()
    assert client.post("/desk/close/", wish | {"mean_it": "on"}).status_code == 302
    assert Hold.objects.count() == 31
    whole = closing(house, "E1", last_day="2026-12-26", last_time="10:00", key="another")
    assert client.post("/desk/close/", whole).status_code == 302


@pytest.mark.parametrize(
    "fields",
    [{}, {"thing": "x"}, {"thing": "station S1", "starts": "5", "ends": "4"}, {"thing": "station S1", "outage": "x"}],
)
def test_giving_back_what_is_not_closed_changes_nothing(house, keyholder, clock, fields):
    assert client_of(keyholder).post("/desk/reopen/", fields).status_code in {302, 409}


def test_a_member_closes_nothing(house, clock):
    client = client_of(makers.member("Adri"))
    assert client.post("/desk/close/", closing(house, "S1")).status_code == 403
    assert not Hold.objects.exists()
