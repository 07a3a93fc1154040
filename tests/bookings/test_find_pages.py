"""What do you want to make?  One tap books; my usual; what nearly fits; through Django's client."""

from __future__ import annotations

from typing import Any

import pytest
import time_machine

from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, UsualNeed
from studiodesk.safety.models import SafetyNote
from studiodesk.stations import actions as stations
from tests import makers
from tests.bookings.paging import NOW, book, client_of, page

ASKED = {"make": "process:rc", "day": "2026-11-26", "length": "120"}


@pytest.fixture(autouse=True)
def _frozen() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


def button_of(row: Any) -> dict[str, str]:
    """What the button of an offer sends, as a browser would."""
    form = row.select_one('form[action="/book/"]')
    return {one["name"]: one["value"] for one in form.select("input") if one["name"] != "csrfmiddlewaretoken"}


def offers(soup: Any) -> list[Any]:
    return list(soup.select("ol.plain > li"))


def test_one_tap_books_and_a_second_tap_or_the_back_button_books_nothing_more(house: Any, adri: Any) -> None:
    client = client_of(adri)
    rows = offers(page(client.get("/find/", ASKED)))
    sent = button_of(rows[0])
    first, again = client.post("/book/", sent), client.post("/book/", sent)
    assert first.status_code == again.status_code == 302
    assert first["Location"] == again["Location"]
    assert Booking.objects.count() == 1
    # Back to the page that was found, and another of its buttons: that one is still to be had, or it says what is.
    other = client.post("/book/", button_of(rows[-1]))
    assert other.status_code == 302
    assert Booking.objects.count() == 2


def test_an_offer_that_went_meanwhile_is_taken_and_the_page_says_what_is_free(house: Any, adri: Any) -> None:
    client = client_of(adri)
    sent = button_of(offers(page(client.get("/find/", ASKED)))[0])
    client_of(makers.member("Bente")).post("/book/", {**sent, "key": "bente"})
    answer = client.post("/book/", sent)
    assert (answer.status_code, page(answer).h1.text) == (409, "Taken")
    assert Booking.objects.count() == 1


def test_the_fields_of_an_offer_may_be_tampered_with_and_the_act_decides(house: Any, adri: Any) -> None:
    sent = button_of(offers(page(client_of(adri).get("/find/", ASKED)))[0])
    other = makers.member("Bente")
    client_of(adri).post("/book/", {**sent, "whom": other.number, "member": other.pk, "by": other.pk})
    assert Booking.objects.get().member == adri
    assert client_of(adri).post("/book/", {**sent, "station": "E9", "key": "k2"}).status_code == 422


def test_who_has_not_read_the_note_is_led_there_and_back(house: Any, adri: Any) -> None:
    SafetyNote.objects.create(
        processor=house.processors["P-RC"], version=1, title="N", body="Gloves.", published_at=makers.LONG_AGO
    )
    rows = offers(page(client_of(adri).get("/find/", ASKED)))
    assert all(row.select_one("form") is None for row in rows)
    link = rows[0].select_one("a.act")
    assert len(rows) > 1
    assert rows[1].select_one("a.act") is None, "one main action"
    assert "Read the safety note and book" in link.text
    shown = page(client_of(adri).get(str(link["href"])))
    assert shown.select_one('a.act[href^="/safety/P-RC/"]') is not None


def test_each_day_has_the_address_of_its_strips(house: Any, adri: Any) -> None:
    client = client_of(adri)
    soup = page(client.get("/find/", ASKED))
    links = [str(a["href"]) for a in soup.select("section.sheet ol + p a")]
    assert links[0] == "/day/2026-11-26/enlarger-booth/"
    assert all(client.get(link).status_code == 200 for link in links)


def test_without_a_process_scanners_are_found(house: Any, adri: Any) -> None:
    rows = offers(page(client_of(adri).get("/find/", {**ASKED, "make": "kind:scanning station"})))
    assert rows
    assert all("Scanning station" in row.text for row in rows)
    assert client_of(adri).post("/book/", button_of(rows[0])).status_code == 302
    assert Booking.objects.get().process is None


def test_if_no_station_is_made_for_it_the_page_says_what_the_nearest_miss(house: Any, adri: Any) -> None:
    soup = page(client_of(adri).get("/find/", {**ASKED, "step_free": "on", "largest": "60×80 cm"}))
    assert "No station here is made for all of this" in soup.text
    assert "not noted as step-free" in soup.text
    assert "the print is wider than the processor takes" in soup.text
    assert offers(soup) == []


def test_if_nothing_is_free_the_way_leads_to_the_waiting_list(house: Any, adri: Any) -> None:
    asked = {**ASKED, "until_day": "2026-11-26", "after": "20:30", "length": "120"}
    soup = page(client_of(adri).get("/find/", asked))
    assert "No free time of this length" in soup.text
    assert soup.select_one('a[href^="/waiting/new/"]') is not None


def test_hours_and_days_that_suit_narrow_what_is_found(house: Any, adri: Any) -> None:
    asked = {**ASKED, "weekdays": ["4", "5"], "after": "18:00", "before": "21:00"}
    soup = page(client_of(adri).get("/find/", asked))
    days = {h3.text.split()[0] for h3 in soup.select("section.sheet h3")}
    assert days == {"Friday", "Saturday"}
    for row in offers(soup):
        starts, _to, ends = row.b.text.split()
        assert starts >= "18:00"
        assert ends <= "21:00"


@pytest.mark.parametrize(
    ("more", "field", "words"),
    [
        ({"largest": "huge"}, "id_largest", "write two edges"),
        ({"largest": "9999 x 9999 cm"}, "id_largest", "write two edges"),
        ({"until_day": "2026-11-25"}, "id_until_day", "after the first"),
        ({"after": "18:00", "before": "19:00"}, "id_before", "less room than the length"),
        ({"weekdays": ["9"]}, "id_weekdays_0", "choose one of the list"),
        ({"make": "process:none"}, "id_make", "choose one of the list"),
    ],
)
def test_what_is_wrong_is_said_at_its_field(
    house: Any, adri: Any, more: dict[str, Any], field: str, words: str
) -> None:
    response = client_of(adri).get("/find/", {**ASKED, **more})
    soup = page(response)
    assert response.status_code == 422
    line = soup.select_one(f'#problems a[href="#{field}"]')
    assert line is not None, soup.select_one("#problems")
    assert words in line.text


def test_my_usual_is_kept_shown_on_the_first_page_and_forgotten(house: Any, adri: Any) -> None:
    client = client_of(adri)
    assert "My usual" not in page(client.get("/")).text
    soup = page(client.get("/find/", {**ASKED, "weekdays": ["5"], "after": "10:00"}))
    form = soup.select_one('form[action="/find/usual/"]')
    sent: dict[str, list[str]] = {}
    for one in form.select("input"):
        sent.setdefault(one["name"], []).append(one["value"])
    answer = client.post("/find/usual/", sent, follow=True)
    assert "Kept as your usual" in page(answer).text
    need = UsualNeed.objects.get(member=adri).need
    assert (need["process"], need["weekdays"], "first_day" in need) == ("rc", [5], False)
    button = page(client.get("/")).find("a", string=lambda text: text and "My usual" in text)
    assert "Black-and-white, RC, 2 h, Sat, next: Sat 28 Nov, 10:00" in " ".join(button.text.split())
    assert offers(page(client.get(str(button["href"]))))
    assert "My usual" in page(client.get("/find/")).text
    client.post("/find/usual/", {"forget": "1"})
    assert not UsualNeed.objects.exists()


def test_my_usual_is_mine_alone(house: Any, adri: Any) -> None:
    other = makers.member("Bente")
    client_of(other).post("/find/usual/", {**ASKED, "member": adri.pk})
    assert UsualNeed.objects.get().member == other
    client_of(adri).post("/find/usual/", {"forget": "1"})
    assert UsualNeed.objects.count() == 1
    assert client_of(adri).get("/find/usual/").status_code == 405


def test_beside_a_friend_leads_to_an_address_to_send(house: Any, adri: Any) -> None:
    client = client_of(adri)
    row = offers(page(client.get("/find/", {**ASKED, "beside": "on"})))[0]
    link = row.find("a", string="The link for your friend")
    assert page(client_of(makers.member("Friend")).get(str(link["href"]))).select_one("section.sheet button.act")
    answer = client.post("/book/", button_of(row), follow=True)
    soup = page(answer)
    assert "For your friend" in soup.text
    sent = str(soup.select_one('section[aria-labelledby="friend"] a')["href"])
    assert sent.endswith(str(link["href"]))


def test_nobody_learns_anything_from_a_made_up_friend(house: Any, adri: Any) -> None:
    mine = book(house, adri)
    for code in ("E1", "S1", "nothing", "'\"<b>"):
        assert "For your friend" not in page(client_of(adri).get(f"/bookings/{mine.pk}/", {"friend": code})).text
    staff = client_of(makers.member("Sam", is_staff=True))
    assert "For your friend" not in page(staff.get(f"/bookings/{mine.pk}/?friend=E2")).text


def test_a_rule_of_the_house_that_refuses_everything_is_said(house: Any, adri: Any) -> None:
    actions.set_house_rule(code="membership_needed", plan=None, value=1, in_force_from=NOW.date(), now=NOW, by=None)
    soup = page(client_of(adri).get("/find/", ASKED))
    assert "needs a membership or a day pass" in soup.text
    assert soup.select_one('form[action="/book/"]') is None


def test_kit_that_was_asked_comes_with_the_tap(house: Any, adri: Any) -> None:
    item, _made = stations.describe_kit(code="LENS", name="Lens, 80 mm", pieces=2, now=NOW)
    soup = page(client_of(adri).get("/find/", {**ASKED, f"kit-{item.pk}": "2"}))
    assert "2 × Lens, 80 mm" in offers(soup)[0].text
    client_of(adri).post("/book/", button_of(offers(soup)[0]))
    assert Booking.objects.get().kit.get().pieces == 2


def test_what_every_offer_says_is_said_once_above_them(house: Any, adri: Any) -> None:
    soup = page(client_of(adri).get("/find/", ASKED))
    above = soup.select_one("#found").find_next_siblings("p", class_="pencil")[0].text
    shared, _point, places = above.removeprefix("All of them: ").partition(".")
    assert above.startswith("All of them: ") and "A place at" in places
    rows = [" ".join(row.text.split()).casefold() for row in offers(soup)]
    assert len(rows) > 1
    for one in [*shared.split(" · "), "a place at"]:
        assert one and not any(one.casefold() in row for row in rows)


def test_a_field_that_says_what_empty_means_is_not_marked_as_optional(house: Any, adri: Any) -> None:
    soup = page(client_of(adri).get("/find/"))
    marked = {one["for"] for one in soup.select("main label:has(.optional)")}
    assert "id_largest" not in marked and "id_after" in marked
