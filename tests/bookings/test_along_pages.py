"""What comes along with a booking: kit, guests, an adult, an exception; through Django's client."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
import time_machine

from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking
from studiodesk.journal.models import Entry
from studiodesk.stations import actions as stations
from tests import makers
from tests.bookings.paging import HOUR, NOW, TOMORROW, WISH, client_of, key, page


@pytest.fixture(autouse=True)
def _frozen() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


def rule(code: str, value: int) -> None:
    actions.set_house_rule(code=code, plan=None, value=value, in_force_from=NOW.date(), now=NOW, by=None)


def kit(code: str, pieces: int, **more: Any) -> Any:
    return stations.describe_kit(code=code, name=code.title(), pieces=pieces, now=NOW, **more)[0]


def words(soup: Any) -> str:
    return " ".join(soup.text.split())


def test_kit_that_goes_with_it_is_offered_with_how_many_are_free_then(house: Any, adri: Any) -> None:
    lens, dish = kit("LENS", 2, kinds=["enlarger booth"]), kit("DISH", 3, process_codes=["ra4"])
    kit("GLASS", 1, kinds=["scanning station"])
    gone = kit("GONE", 1)
    kit("GONE", 0)
    client_of(makers.member("Bente")).post("/book/", WISH | {"station": "E2", f"kit-{lens.pk}": "1"} | key())
    soup = page(client_of(adri).get("/book/", WISH))
    fields = [one["name"] for one in soup.select('form[method="post"] input[type="number"]')]
    assert fields == [f"kit-{lens.pk}"]
    assert "1 of 2 free for that time" in words(soup)
    assert "2 of 2 free" in words(page(client_of(adri).get("/book/", WISH | {"begins": "16:00", "until": "17:00"})))
    assert f"kit-{dish.pk}" in str(page(client_of(adri).get("/book/", WISH | {"process": "ra4"})))
    assert f"kit-{gone.pk}" not in str(soup)


def test_what_is_taken_along_is_kept_and_shown_with_until_when(house: Any, adri: Any) -> None:
    lens, cabinet = kit("LENS", 2), kit("CABINET", 1, from_end_minutes=15, outlasts_minutes=90)
    client = client_of(adri)
    answer = client.post("/book/", WISH | {f"kit-{lens.pk}": "2", f"kit-{cabinet.pk}": "1"} | key(), follow=True)
    text = words(page(answer))
    assert "2 × Lens" in text
    assert "1 × Cabinet: kept for you from 14:45 until 16:30, Thu 26 Nov" in text
    assert {(row.item.code, row.pieces) for row in Booking.objects.get().kit.all()} == {("LENS", 2), ("CABINET", 1)}


def test_too_many_are_refused_at_their_field_and_nothing_is_booked(house: Any, adri: Any) -> None:
    lens = kit("LENS", 2)
    client_of(makers.member("Bente")).post("/book/", WISH | {"station": "E2", f"kit-{lens.pk}": "1"} | key())
    for pieces, said in (
        ("2", "1 are free for all of that time"),
        ("3", "at most 2"),
        ("-1", "at least 0"),
        ("x", "a whole"),
    ):
        answer = client_of(adri).post("/book/", WISH | {f"kit-{lens.pk}": pieces} | key())
        soup = page(answer)
        assert answer.status_code == 422
        line = soup.select_one(f'#problems a[href="#id_kit-{lens.pk}"]')
        assert line is not None
        assert said in line.text
        field = soup.select_one(f"#id_kit-{lens.pk}")
        assert field["value"] == pieces, "what was typed is kept"
        assert field.find_parent("details").has_attr("open")
    assert Booking.objects.count() == 1


def test_the_same_key_with_other_kit_is_refused(house: Any, adri: Any) -> None:
    lens, same = kit("LENS", 2), key()
    client = client_of(adri)
    assert client.post("/book/", WISH | {f"kit-{lens.pk}": "1"} | same).status_code == 302
    assert client.post("/book/", WISH | {f"kit-{lens.pk}": "2"} | same).status_code == 422
    assert client.post("/book/", WISH | {f"kit-{lens.pk}": "1"} | same).status_code == 302
    assert Booking.objects.count() == 1


def test_kit_that_was_said_survives_a_change_of_time(house: Any, adri: Any) -> None:
    lens = kit("LENS", 2)
    soup = page(client_of(adri).get("/book/", WISH | {f"kit-{lens.pk}": "2"}))
    carried = soup.select_one(f'form[method="get"] input[name="kit-{lens.pk}"]')
    assert carried["value"] == "2"


def test_guests_are_asked_only_where_somebody_may_bring_some(house: Any, adri: Any) -> None:
    client = client_of(adri)
    assert page(client.get("/book/", WISH)).select_one("#id_guests") is None
    tampered = client.post("/book/", WISH | {"guests": "1"} | key())
    assert tampered.status_code == 422
    rule("guests", 2)
    assert page(client.get("/book/", WISH)).select_one("#id_guests") is not None
    too_many = client.post("/book/", WISH | {"guests": "3"} | key())
    assert too_many.status_code == 422
    assert "2 guests at most" in words(page(too_many))
    assert page(too_many).select_one("#id_guests")["value"] == "3"
    assert "Guests 2" in words(page(client.post("/book/", WISH | {"guests": "2"} | key(), follow=True)))


def test_who_is_under_age_names_an_adult(house: Any, adri: Any) -> None:
    adri.born_on = date(2010, 5, 1)
    adri.save()
    client = client_of(adri)
    soup = page(client.get("/book/", WISH))
    assert "nobody works here alone" in words(soup)
    assert soup.select_one("#id_adult_name") is not None
    without = client.post("/book/", WISH | key())
    assert without.status_code == 422
    assert page(without).select_one('#problems a[href="#id_adult_name"]') is not None
    answer = client.post("/book/", WISH | {"adult_name": "Robin Vos"} | key(), follow=True)
    assert "Adult who comes along Robin Vos" in words(page(answer))


def test_who_is_of_age_is_not_asked_for_an_adult(house: Any, adri: Any) -> None:
    assert page(client_of(adri).get("/book/", WISH)).select_one("#id_adult_name") is None


def test_staff_set_a_rule_aside_with_a_reason_and_only_then(house: Any, adri: Any) -> None:
    rule("membership_needed", 1)
    rule("longest_stay_minutes", 60)
    sam = makers.member("Sam", is_staff=True)
    staff, wish = client_of(sam), WISH | {"whom": adri.number}
    soup = page(staff.get("/book/", wish))
    assert "needs a membership" in words(soup)
    assert "the longest stay is 1 h" in words(soup), "all that are broken are listed"
    assert soup.select_one("#id_override") is not None
    assert staff.post("/book/", wish | key()).status_code == 409
    assert Booking.objects.count() == 0
    assert staff.post("/book/", wish | {"override": "open evening"} | key()).status_code == 302
    facts = Entry.objects.get(code="bookings.booked").facts
    assert facts["reason"] == "open evening"
    assert set(facts["rules"]) == {"bookings.no_membership", "bookings.stay_too_long"}


def test_where_no_rule_is_broken_no_reason_is_asked(house: Any, adri: Any) -> None:
    staff = client_of(makers.member("Sam", is_staff=True))
    assert page(staff.get("/book/", WISH | {"whom": adri.number})).select_one("#id_override") is None


@pytest.mark.parametrize("role", [{}, {"is_keyholder": True}])
def test_nobody_but_staff_sets_a_rule_aside(house: Any, adri: Any, role: dict[str, bool]) -> None:
    rule("longest_stay_minutes", 60)
    client = client_of(makers.member("Kim", **role))
    assert page(client.get("/book/", WISH)).select_one("#id_override") is None
    assert client.post("/book/", WISH | {"override": "because"} | key()).status_code == 409
    assert Booking.objects.count() == 0


def test_what_is_taken_cannot_be_set_aside(house: Any, adri: Any) -> None:
    rule("longest_stay_minutes", 60)
    actions.book(
        member=adri,
        station=house.stations["E1"],
        process=house.processes["rc"],
        starts=TOMORROW,
        ends=TOMORROW + HOUR,
        now=NOW,
        by=adri,
    )
    staff = client_of(makers.member("Sam", is_staff=True))
    answer = staff.post("/book/", WISH | {"override": "because"} | key())
    assert (answer.status_code, page(answer).h1.text) == (409, "Taken")
