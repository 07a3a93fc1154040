"""The pages of the waiting list: ask to be told, see one's place, answer an offer; and what the others show of it."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest

from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, WaitingWish
from studiodesk.bookings.rules.needs import Need, need_from_json
from studiodesk.safety import actions as safety
from studiodesk.safety.queries import current_note
from studiodesk.timekeeping import Span
from tests import makers
from tests.bookings.paging import HOUR, NOW, TOMORROW, book, client_of, key, page
from tests.bookings.waits import full, later, offer_of, state, wait

FORM = {
    "kind": "scanning station",
    "process": "-",
    "length": "120",
    "first_day": "2026-11-26",
    "last_day": "2026-11-26",
    "not_before": "13:00",
    "not_after": "15:00",
}


@pytest.fixture
def people(house: Any, clock_at: Any) -> Any:
    with clock_at(NOW):
        yield {
            "adri": makers.member("Adri"),
            "bente": makers.member("Bente"),
            "kim": makers.member("Kim", is_keyholder=True),
        }


def text(response: Any) -> str:
    return " ".join(page(response).get_text(" ").split())


def offered(house: Any, people: Any) -> Booking:
    """The scanner of tomorrow is kept for Bente, because Adri has given it back."""
    taken, wish = full(house, people["adri"], NOW), wait(people["bente"], NOW)
    actions.cancel(booking=taken, now=NOW, by=people["adri"])
    return offer_of(wish).booking


def test_somebody_asks_to_be_told_and_sees_their_place(house, people):
    wait(people["adri"], NOW)
    client = client_of(people["bente"])
    assert "Wait for it" in text(client.get("/waiting/new/"))
    answer = client.post("/waiting/new/", {**FORM, **key()}, follow=True)
    assert answer.redirect_chain[-1][0] == "/waiting/"
    said = text(answer)
    assert "Thu 26 Nov, 13:00 to 15:00" in said and "Scanning station, 2 h" in said
    assert "Place 2 in line, on the list since Wed 25 Nov" in said
    wish = WaitingWish.objects.get(member=people["bente"])
    assert need_from_json(wish.need).not_before == 13 * 60
    assert (wish.not_before, wish.not_after) == (TOMORROW, TOMORROW + 2 * HOUR)
    assert "You wait for nothing" not in said


def test_a_double_tap_waits_once(house, people):
    client, once = client_of(people["bente"]), key()
    for _ in range(2):
        assert client.post("/waiting/new/", {**FORM, **once}).status_code == 302
    assert WaitingWish.objects.count() == 1


@pytest.mark.parametrize(
    "more, said",
    [
        ({"last_day": "2026-11-24", "first_day": "2026-11-24"}, "has gone by, or nearly. Choose a later day."),
        ({"last_day": "2026-11-25"}, "The last day has to come after the first."),
        ({"not_after": "14:00"}, "does not fit between those times"),
        ({"last_day": "2029-01-01"}, "That is too far ahead to wait for."),
        ({"first_day": "soon"}, "write a day, such as 2026-11-27"),
        ({"kind": "enlarger booth"}, "Say what you will print"),
        ({"not_before": "half one"}, "write a time, such as 14:45"),
    ],
)
def test_what_is_put_in_wrongly_is_said_at_its_field_and_kept(house, people, more, said):
    answer = client_of(people["bente"]).post("/waiting/new/", {**FORM, **key(), **more})
    assert answer.status_code == 422 and said in text(answer)
    name, value = next(iter(more.items()))
    field = page(answer).find(attrs={"name": name})
    kept = field.get("value") if field.name == "input" else field.find("option", selected=True)["value"]
    assert kept == value
    assert not WaitingWish.objects.exists()


def test_the_same_wish_twice_is_told_and_nothing_is_lost(house, people):
    wait(people["bente"], NOW)
    answer = client_of(people["bente"]).post("/waiting/new/", {**FORM, **key()})
    assert answer.status_code == 409 and "You wait for this already." in text(answer)


def test_an_unread_note_is_asked_for_with_the_way_back(house, people):
    safety.publish_note(processor=house.processors["P-RC"], title="Before", body="Gloves.", now=NOW)
    client, booth = client_of(people["bente"]), {**FORM, "kind": "enlarger booth", "process": "rc"}
    answer = client.post("/waiting/new/", {**booth, **key()})
    assert answer.status_code == 409
    link = page(answer).find("a", string="Read the safety note")
    parts = urlsplit(link["href"])
    assert parts.path == "/safety/P-RC/"
    back = parse_qs(parts.query)["next"][0]
    assert page(client.get(back)).find("option", selected=True, value="rc")
    # A note that changes while somebody waits is asked for on the page of what they wait for.
    safety.acknowledge(note=current_note(house.processors["P-RC"]), member=people["bente"], now=NOW)
    assert client.post("/waiting/new/", {**booth, **key()}).status_code == 302
    assert "until then nothing can be kept for you" not in text(client.get("/waiting/"))
    safety.publish_note(processor=house.processors["P-RC"], title="Now", body="Goggles too.", now=later(NOW, 1))
    assert "until then nothing can be kept for you" in text(client.get("/waiting/"))


def test_what_else_is_wished_comes_along_from_where_one_looked(house, people):
    need = Need(process="rc", light_source="", step_free=False, weekdays=(3,), length=105)
    client = client_of(people["bente"])
    from studiodesk.bookings.views.waiting import wait_url

    shown = client.get(wait_url(need))
    assert "Also wished: Thu." in text(shown)
    soup = page(shown)
    fields = {one["name"]: one.get("value", "") for one in soup.find_all("input") if one.get("name")}
    fields |= {one["name"]: one.find("option", selected=True)["value"] for one in soup.find_all("select")}
    fields.pop("csrfmiddlewaretoken", None)
    assert (fields["process"], fields["length"], fields["first_day"]) == ("rc", "105", "2026-11-25")
    answer = client.post("/waiting/new/", {**fields, "last_day": "2026-12-24"})
    assert answer.status_code == 302
    kept = need_from_json(WaitingWish.objects.get().need)
    assert (kept.weekdays, kept.length, kept.process) == ((3,), 105, "rc")


@pytest.mark.parametrize("rubbish", ["{", "[]", "null", '{"length": "x", "weekdays": [9]}', "[" * 5000, '{"length":1}'])
def test_a_need_that_cannot_be_read_leaves_the_form_open(house, people, rubbish):
    client = client_of(people["bente"])
    assert client.get("/waiting/new/", {"need": rubbish}).status_code == 200
    assert client.post("/waiting/new/", {**FORM, **key(), "need": rubbish}).status_code in (302, 422)


def test_an_offer_is_taken_from_the_page_of_what_one_waits_for(house, people):
    kept = offered(house, people)
    client = client_of(people["bente"])
    said = text(client.get("/waiting/"))
    assert "Kept for you" in said and "Kept until Wed 25 Nov, 17:00" in said  # 16:00 UTC
    answer = client.post(f"/bookings/{kept.pk}/accept/", follow=True)
    assert "Booked. A letter confirms it." in text(answer) and "Cancel this booking" in text(answer)
    assert client.post(f"/bookings/{kept.pk}/accept/").status_code == 302  # a second tap
    assert state(WaitingWish.objects.get()) == "served"
    assert "It was booked." in text(client.get("/waiting/"))


def test_an_offer_is_declined_from_the_page_of_the_booking_which_cannot_be_cancelled_besides(house, people):
    kept = offered(house, people)
    client = client_of(people["bente"])
    said = text(client.get(f"/bookings/{kept.pk}/"))
    assert "Kept, not taken yet" in said and "Take it" in said and "Cancel this booking" not in said
    answer = client.post(f"/bookings/{kept.pk}/decline/", follow=True)
    assert "Was kept and not taken" in text(answer)
    assert state(WaitingWish.objects.get()) == "waiting"
    assert "Place 1 in line" in text(client.get("/waiting/"))


def test_an_answer_that_comes_too_late_says_so(house, people, clock_at):
    kept = offered(house, people)
    with clock_at(later(NOW, 121)):
        answer = client_of(people["bente"]).post(f"/bookings/{kept.pk}/accept/")
    assert answer.status_code == 409 and "This was kept until Wednesday 25 November 17:00" in text(answer)


def test_nobody_answers_or_stops_for_anybody_else(house, people):
    kept = offered(house, people)
    wish = WaitingWish.objects.get()
    stranger = client_of(people["adri"])
    for path in (f"/bookings/{kept.pk}/accept/", f"/bookings/{kept.pk}/decline/", f"/waiting/{wish.pk}/stop/"):
        assert stranger.post(path).status_code == 404, path
        assert client_of(people["bente"]).get(path).status_code == 405
    plain = book(house, people["adri"], "E1")
    assert stranger.post(f"/bookings/{plain.pk}/accept/").status_code == 404
    assert state(wish) == "offered"


def test_whoever_runs_the_house_sees_who_waits_and_may_put_somebody_on_the_list_or_take_them_off(house, people):
    kept = offered(house, people)
    wait(people["adri"], later(NOW, 1))
    kim = client_of(people["kim"])
    said = text(kim.get("/waiting/all/"))
    assert f"Bente ({people['bente'].number}) Scanning station, 2 h Thu 26 Nov, 13:00 to 15:00" in said
    assert "Scanning station kept until Wed 25 Nov, 17:00" in said and "Place 2" in said
    assert client_of(people["bente"]).get("/waiting/all/").status_code == 403
    answer = kim.post("/waiting/new/", {**FORM, **key(), "last_day": "2026-11-27", "whom": people["bente"].number})
    assert answer["Location"] == "/waiting/all/"
    mine = WaitingWish.objects.latest("pk")
    assert mine.member == people["bente"]
    assert kim.post("/waiting/new/", {**FORM, **key(), "whom": "nobody"}).status_code == 422
    assert kim.post(f"/waiting/{mine.pk}/stop/")["Location"] == "/waiting/all/"
    assert state(mine) == "ended"
    kim.post(f"/waiting/{kept.offer.wish_id}/stop/")
    assert Booking.objects.get(pk=kept.pk).cancelled_at is not None
    assert "Nobody waits" not in text(kim.get("/waiting/all/"))


def test_taken_and_full_lead_to_the_waiting_list_with_everything_filled_in(house, people):
    full(house, people["adri"], NOW, -2, 9)
    client = client_of(people["bente"])
    wish = {"station": "S1", "day": "2026-11-26", "begins": "13:00", "until": "15:00"}
    answer = client.post("/book/", {**wish, **key()})
    assert answer.status_code == 409
    links = [page(answer).find("a", string="Tell me when something frees")]
    full(house, people["adri"], NOW, -3, 1)
    full(house, people["adri"], NOW, 7, 2)
    day = client.get("/day/2026-11-26/scanning-station/")
    links.append(page(day).find("a", string="Tell me when something frees"))
    for link in links:
        form = page(client.get(link["href"]))
        assert form.find("input", attrs={"name": "first_day"})["value"] == "2026-11-26"
        assert form.find("select", attrs={"name": "kind"}).find("option", selected=True)["value"] == "scanning station"
    need = json.loads(parse_qs(urlsplit(links[0]["href"]).query)["need"][0])
    assert (need["not_before"], need["not_after"], need["length"]) == (13 * 60, 15 * 60, 120)
    assert (
        page(client.get("/day/2026-11-27/scanning-station/")).find("a", string="Tell me when something frees") is None
    )
    assert (
        page(client.get("/day/2026-11-24/scanning-station/")).find("a", string="Tell me when something frees") is None
    )


def test_finding_nothing_leads_to_the_waiting_list(house, people):
    actions.close_station(
        station=house.stations["S1"],
        span=Span(NOW, NOW + timedelta(days=40)),
        reason="lamp",
        now=NOW,
        by=people["kim"],
    )
    client = client_of(people["bente"])
    choice = (
        page(client.get("/find/"))
        .find("select", attrs={"name": "make"})
        .find("option", string=lambda word: word and "canning" in word)
    )
    answer = client.get("/find/", {"make": choice["value"], "length": "120", "day": "2026-11-26"})
    link = page(answer).find("a", string="Tell me when something frees")
    form = page(client.get(link["href"]))
    assert form.find("select", attrs={"name": "kind"}).find("option", selected=True)["value"] == "scanning station"
    assert form.find("input", attrs={"name": "last_day"})["value"] > "2026-11-26"
