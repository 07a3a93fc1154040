"""Cancelling, taking a change or a cancellation back, and the list of one's own, through Django's client."""

from __future__ import annotations

from typing import Any

import pytest
import time_machine

from studiodesk.bookings import actions
from tests import makers
from tests.bookings.changing import at, rule, times
from tests.bookings.paging import HOUR, NOW, TOMORROW, WISH, book, client_of, key, page


@pytest.fixture(autouse=True)
def _frozen() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


def test_a_change_can_be_taken_back_until_the_cut_off(house: Any, adri: Any) -> None:
    booking, client = book(house, adri), client_of(adri)
    rule("free_cancel_hours", 4)
    undo = f"/bookings/{booking.pk}/undo/"
    assert client.post(undo).status_code == 409
    client.post(at(booking), WISH | {"station": "E2"} | key())
    soup = page(client.get(f"/bookings/{booking.pk}/"))
    assert "can be taken back until Thu 26 Nov, 09:00" in " ".join(soup.text.split())
    assert client.get(undo).status_code == 405
    client.post(undo)
    assert times(booking) == ("E1", 0, 2)
    client.post(at(booking), WISH | {"station": "E2"} | key())
    with time_machine.travel(TOMORROW - 3.5 * HOUR, tick=False):
        assert "Undo the last change" not in page(client.get(f"/bookings/{booking.pk}/")).text
        assert client.post(undo).status_code == 409
    assert times(booking) == ("E2", 0, 2)


def test_a_cancellation_can_be_taken_back_while_the_time_is_free(house: Any, adri: Any) -> None:
    booking, client = book(house, adri), client_of(adri)
    client.post(f"/bookings/{booking.pk}/cancel/")
    assert "Undo the cancellation" in page(client.get(f"/bookings/{booking.pk}/")).text
    client.post(f"/bookings/{booking.pk}/undo/")
    booking.refresh_from_db()
    assert booking.cancelled_at is None
    client.post(f"/bookings/{booking.pk}/cancel/")
    book(house, makers.member("Bente"))
    answer = client.post(f"/bookings/{booking.pk}/undo/")
    assert answer.status_code == 409
    booking.refresh_from_db()
    assert booking.cancelled_at is not None


def test_before_cancelling_the_page_says_whether_it_is_late_and_what_that_means(house: Any, adri: Any) -> None:
    booking, client = book(house, adri), client_of(adri)

    def said() -> str:
        return " ".join(page(client.get(f"/bookings/{booking.pk}/")).text.split())

    assert "You can cancel until it begins" in said()
    rule("free_cancel_hours", 12)
    assert "Cancel until Thursday 26 November 01:00 and nothing is held against you" in said()
    with time_machine.travel(TOMORROW - 2 * HOUR, tick=False):
        assert "less than 12 hours. It is noted, and nothing follows" in said()
        rule("strikes", 3)
        rule("strike_days", 40)
        rule("pause_days", 10)
        assert "after 3 late or missed bookings in 40 days you cannot book for 10 days" in said()
        client.post(f"/bookings/{booking.pk}/cancel/")
    booking.refresh_from_db()
    assert booking.was_cancelled_late


def test_my_bookings_show_what_is_kept_for_me_on_top(house: Any, adri: Any) -> None:
    book(house, adri)
    kept = actions.book(
        member=adri,
        station=house.stations["E2"],
        process=house.processes["rc"],
        starts=TOMORROW + 4 * HOUR,
        ends=TOMORROW + 5 * HOUR,
        now=NOW,
        by=adri,
        offered_until=NOW + 2 * HOUR,
    )
    soup = page(client_of(adri).get("/bookings/"))
    assert [h2.text for h2 in soup.select("main h2")][:2] == ["Kept for you", "To come"]
    assert soup.select_one(f'section[aria-labelledby="kept-{kept.pk}"] form') is not None
    assert client_of(adri).get(at(kept)).status_code in (200, 409)
    assert client_of(adri).post(at(kept), WISH | {"station": "E2"} | key()).status_code == 409
