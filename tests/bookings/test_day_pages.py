"""The day, its kinds and finding a time, through Django's client; and how much they ask the database."""

from __future__ import annotations

from typing import Any
from urllib.parse import parse_qsl, urlsplit

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests import makers
from tests.bookings.paging import NOW, book, client_of, page
from tests.statement import keeps


@pytest.fixture(autouse=True)
def _frozen() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


def test_the_day_is_shown_in_wedges_with_the_number_free(house: Any, adri: Any) -> None:
    book(house, adri)
    soup = page(client_of(adri).get("/day/2026-11-26/"))
    assert soup.h1.text == "Thursday 26 November 2026"
    assert "Open 10:00 to 22:00" in soup.text
    titles = [piece["title"] for piece in soup.select(".steps .piece")]
    assert "13:00 to 15:15: 3 of 4 free" in titles


def test_inside_a_kind_every_free_stretch_leads_to_booking_it(house: Any, adri: Any) -> None:
    book(house, makers.member("Bente"))
    soup = page(client_of(adri).get("/day/2026-11-26/enlarger-booth/"))
    line = soup.select_one("section.strip[aria-labelledby=line-e1]")
    assert line is not None
    said = [piece["title"].split(",")[0] for piece in line.select(".piece")]
    assert said == ["Free 10:00 to 13:00", "Taken 13:00 to 15:00", "Clear-up 15:00 to 15:15", "Free 15:15 to 22:00"]
    link = line.select_one("a")
    assert link is not None
    got = dict(parse_qsl(urlsplit(str(link["href"])).query))
    assert (got["station"], got["begins"], got["until"]) == ("E1", "10:00", "12:00")
    assert "Bente" not in soup.text, "members read Taken and no name"
    assert "3 of 4 places free" in soup.text


def test_whoever_runs_the_house_reads_who_it_is_and_gets_there(house: Any, adri: Any) -> None:
    booking = book(house, adri)
    soup = page(client_of(makers.member("Kim", is_keyholder=True)).get("/day/2026-11-26/enlarger-booth/"))
    assert soup.select_one(f'a[href="/bookings/{booking.pk}/"]') is not None
    assert "Adri" in soup.text


def test_what_is_past_today_lies_under_a_card_that_a_link_lifts(house: Any, adri: Any) -> None:
    client = client_of(adri)
    covered = page(client.get("/day/2026-11-25/enlarger-booth/"))
    assert "Past 10:00 to 15:00" in covered.select_one("[aria-labelledby=line-e1] .piece")["title"]
    lift = covered.select_one(".card-line a")
    assert lift is not None
    shown = page(client.get("/day/2026-11-25/enlarger-booth/" + str(lift["href"])))
    assert shown.select(".stretches > .gone") and not shown.select(".stretches > .past")  # no card is left lying


def test_what_is_free_comes_before_what_else_the_page_can_do(house: Any, adri: Any) -> None:
    """So that a phone's first screen shows it: the card's link and the way to another date stand after the strips."""
    client = client_of(adri)
    whole = str(page(client.get("/day/2026-11-25/")).main)
    assert whole.index('class="pieces') < whole.index('class="card-line') < whole.index('name="on"')
    kind = str(page(client.get("/day/2026-11-25/enlarger-booth/")).main)
    assert kind.index('class="pieces') < kind.index('class="card-line')


@keeps("table")
@pytest.mark.parametrize("path", ["/day/2026-11-26/", "/day/2026-11-26/enlarger-booth/"])
def test_the_same_day_is_there_as_a_native_table(house: Any, adri: Any, path: str) -> None:
    book(house, adri)
    soup = page(client_of(adri).get(path + "?view=table"))
    assert soup.table is not None
    assert "13:00" in soup.table.text
    assert soup.select_one(".strips") is None


@pytest.mark.parametrize("path", ["/day/2026-02-30/", "/day/1826-11-26/", "/day/2026-11-26/nothing/", "/day/x/"])
def test_a_day_or_kind_that_is_not_is_not_found(house: Any, adri: Any, path: str) -> None:
    assert client_of(adri).get(path).status_code == 404


def test_any_day_can_be_gone_to(house: Any, adri: Any) -> None:
    client = client_of(adri)
    assert client.get("/day/?on=2026-12-05")["Location"] == "/day/2026-12-05/"
    assert "1 thing to put right" in page(client.get("/day/?on=soon")).text


def test_what_is_looked_for_at_a_scanner_needs_no_process(house: Any, adri: Any) -> None:
    asked = {"kind": "scanning station", "process": "rc", "day": "2026-11-26", "length": "60"}
    rows = page(client_of(adri).get("/find/", asked)).select("ol.plain li")
    assert "Scanning station" in rows[0].text
    assert "place at" not in rows[0].text


def test_a_closed_day_says_so_and_the_way_on(house: Any, adri: Any) -> None:
    soup = page(client_of(adri).get("/day/2026-11-30/"))
    assert "Closed." in soup.text
    assert soup.select_one('.empty a[href="/find/"]') is not None


def test_find_offers_times_with_reasons_and_each_leads_to_what_it_says(house: Any, adri: Any) -> None:
    book(house, makers.member("Bente"), "E1", -3, 9)
    asked = {"make": "process:rc", "day": "2026-11-26", "length": "180"}
    client = client_of(adri)
    soup = page(client.get("/find/", asked))
    rows = soup.select("ol.plain li")
    assert 0 < len(rows) <= 10
    assert "10:00 to 13:00" in rows[0].text
    assert "Booth 2" in rows[0].text
    assert "The soonest of these" in rows[0].text
    assert "You can begin as late as 18:45." in rows[0].text
    for row in rows:
        shown = page(client.get(str(row.a["href"])))
        assert shown.select_one("section.sheet button.act") is not None
        assert " ".join(row.b.text.split()) in " ".join(shown.text.split())


def test_find_names_what_is_wrong_and_keeps_what_was_typed(house: Any, adri: Any) -> None:
    asked = {"make": "", "day": "26 Nov", "length": "180", "largest": "big"}
    response = client_of(adri).get("/find/", asked)
    soup = page(response)
    assert response.status_code == 422
    assert "3 things to put right" in soup.text
    assert (soup.select_one("#id_day")["value"], soup.select_one("#id_day")["type"]) == ("26 Nov", "text")
    assert soup.select_one("#id_largest")["value"] == "big"


@pytest.mark.parametrize(
    ("path", "ceiling"),
    [
        ("/day/2026-11-26/", 12),
        ("/day/2026-11-26/enlarger-booth/", 12),
        ("/find/?kind=enlarger+booth&process=ra4&day=2026-11-26&length=120", 10),
        ("/bookings/", 8),
    ],
)
def test_a_page_asks_no_more_of_the_database_when_more_is_booked(
    house: Any, adri: Any, path: str, ceiling: int
) -> None:
    client = client_of(adri)
    client.get(path)

    def count() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert client.get(path).status_code == 200
        return len(seen)

    book(house, adri, "E2", -3, 1)
    few = count()
    for start in range(-2, 8):
        book(house, adri, "E1", start, 0.5)
        book(house, adri, "S1", start, 1, None)
    assert count() == few <= ceiling
