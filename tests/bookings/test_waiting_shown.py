"""What the other pages and the letters show of the waiting list, and how much its pages ask the database."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, WaitingWish
from studiodesk.bookings.rules.needs import Need
from tests import makers
from tests.bookings.paging import NOW, TOMORROW, client_of, page
from tests.bookings.waits import full, later, offer_of, wait


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


def test_a_kept_time_reads_as_kept_with_until_when_and_whose_only_to_the_house(house, people):
    offered(house, people)
    path = "/day/2026-11-26/scanning-station/"
    assert "Kept 13:00 to 15:00 for somebody until Wed 25 Nov, 17:00" in text(client_of(people["adri"]).get(path))
    assert "kept for you until Wed 25 Nov, 17:00" in text(client_of(people["bente"]).get(path))
    assert "for Bente until Wed 25 Nov, 17:00" in text(client_of(people["kim"]).get(path))
    assert "Bente" not in text(client_of(people["adri"]).get(path))


def test_the_desk_says_how_many_wait_for_which_day(house, people):
    desk = client_of(people["kim"])
    assert "wait for" not in text(desk.get("/desk/"))
    for name in ("adri", "bente"):
        wait(people[name], NOW, not_before=17 * 60, not_after=22 * 60)
    wait(people["adri"], NOW, Need(kind="scanning station", length=60))
    wait(people["adri"], NOW, first_day=(NOW + timedelta(days=2)).date(), last_day=(NOW + timedelta(days=2)).date())
    said = text(desk.get("/desk/"))
    assert "2 wait for Thu 26 Nov" in said and "1 waits for Fri 27 Nov" in said
    WaitingWish.objects.filter(not_before=TOMORROW).delete()
    assert "2 wait for the evening of Thu 26 Nov" in text(desk.get("/desk/"))


def test_the_pages_ask_as_much_for_twenty_as_for_two(house, people):
    def asked(path: str, who: str) -> int:
        client = client_of(people[who])
        client.get(path)
        with CaptureQueriesContext(connection) as seen:
            assert client.get(path).status_code == 200
        return len(seen)

    others = [makers.member(f"P{n}") for n in range(9)]
    wait(people["bente"], NOW)
    wait(others[0], NOW)
    few = {
        path: asked(path, who) for path, who in (("/waiting/", "bente"), ("/waiting/all/", "kim"), ("/desk/", "kim"))
    }
    for person in others:
        for length in (30, 60):
            wait(person, NOW, Need(kind="scanning station", length=length))
    for length in (15, 30, 45):
        wait(people["bente"], NOW, Need(kind="scanning station", length=length))
    many = {
        path: asked(path, who) for path, who in (("/waiting/", "bente"), ("/waiting/all/", "kim"), ("/desk/", "kim"))
    }
    assert many == few
    assert few["/waiting/"] <= 12 and few["/waiting/all/"] <= 12


def test_the_letter_of_an_offer_that_ran_out_says_what_becomes_of_the_wish(house, people, outbox):
    from studiodesk import letters, tasks
    from studiodesk.journal.actions import send_due_notices

    offered(house, people)
    assert list(tasks.CHORES).index("offers") < list(tasks.CHORES).index("letters")
    assert tasks.CHORES["offers"](later(NOW, 119)) == 0
    assert tasks.CHORES["offers"](later(NOW, 120)) == 1
    send_due_notices(now=later(NOW, 121), render=letters.render)
    said = [mail.body for mail in outbox if "No longer kept for you" in mail.subject]
    assert len(said) == 1 and "You go on waiting, behind those who came until now." in said[0]
    assert "/waiting/" in said[0]
