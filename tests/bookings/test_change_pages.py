"""Changing a booking through the client: what the pages show, what they refuse, two tabs and other people's ids."""

from __future__ import annotations

from typing import Any

import pytest
import time_machine

from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, Hold
from studiodesk.bookings.queries import kit_of
from studiodesk.stations import actions as stations
from tests import makers
from tests.bookings.changing import at, button, rule, tap, times
from tests.bookings.paging import HOUR, NOW, TOMORROW, WISH, book, client_of, key, page


@pytest.fixture(autouse=True)
def _frozen() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


def test_the_page_shows_the_booking_then_what_it_will_be_then_changes_it(house: Any, adri: Any) -> None:
    booking, client = book(house, adri), client_of(adri)
    soup = page(client.get(at(booking)))
    assert "Booth 1, Thursday 26 November 2026, 13:00 to 15:00" in " ".join(soup.text.split())
    assert soup.select_one("#id_begins")["value"] == "13:00"
    asked = button(soup.select_one(f'form[method="get"][action="{at(booking)}"]')) | WISH | {"until": "16:30"}
    seen = page(client.get(at(booking), asked))
    assert "Thursday 26 November 2026, 13:00 to 16:30" in " ".join(seen.text.split())
    assert times(booking) == ("E1", 0, 2), "looking changes nothing"
    sent = tap(seen, "Change it to this")
    answer, again = client.post(at(booking), sent), client.post(at(booking), sent)
    assert answer.status_code == again.status_code == 302
    assert times(booking) == ("E1", 0, 3.5)
    assert booking.changes.count() == 1
    # The back button, and the same form with a new key: the page is older than the booking.
    stale = client.post(at(booking), sent | key())
    assert stale.status_code == 409
    assert "changed meanwhile" in page(stale).text


def test_a_clash_says_what_is_free_near_it_and_the_booking_stands(house: Any, adri: Any) -> None:
    booking = book(house, adri)
    book(house, makers.member("Bente"), "E1", 3, 2)
    client = client_of(adri)
    answer = client.post(at(booking), WISH | {"until": "16:30"} | key())
    soup = page(answer)
    text = " ".join(soup.text.split())
    assert answer.status_code == 409
    assert "It stands as it was: Booth 1, Thursday 26 November 2026, 13:00 to 15:00" in text
    assert "Bente" not in text
    assert times(booking) == ("E1", 0, 2)
    links = [a for a in soup.select("main ul.plain a") if "Booth 2" in a.text]
    seen = page(client.get(str(links[0]["href"])))
    assert client.post(at(booking), tap(seen, "Change it to this")).status_code == 302
    assert times(booking) == ("E2", 0, 3.5)


def test_near_a_clash_the_own_booking_stands_in_nobodys_way(house: Any, adri: Any) -> None:
    """13:00 to 15:00 is mine and 15:15 on is taken: half an hour earlier is free though I sit there now."""
    booking = book(house, adri)
    book(house, makers.member("Bente"), "E1", 2.5, 2)
    asked = WISH | {"begins": "13:00", "until": "15:30"}
    text = " ".join(page(client_of(adri).get(at(booking), asked)).text.split())
    assert "Thu 26 Nov, 12:30 to 15:00, Booth 1" in text or "Thu 26 Nov, 12:45 to 15:15, Booth 1" in text


@pytest.mark.parametrize(("words", "expected"), [("30 min longer", 2.5), ("1 h longer", 3), ("30 min shorter", 1.5)])
def test_one_tap_makes_todays_booking_longer_or_shorter(house: Any, adri: Any, words: str, expected: float) -> None:
    booking, client = book(house, adri), client_of(adri)
    assert "longer" not in page(client.get(f"/bookings/{booking.pk}/")).text, "that is for the day itself"
    with time_machine.travel(TOMORROW - 2 * HOUR, tick=False):
        sent = tap(page(client.get(f"/bookings/{booking.pk}/")), words)
        client.post(at(booking), sent)
        client.post(at(booking), sent)
    assert times(booking) == ("E1", 0, expected)
    assert booking.changes.count() == 1


def test_longer_is_offered_only_as_far_as_it_goes(house: Any, adri: Any) -> None:
    booking = book(house, adri)
    book(house, makers.member("Bente"), "E1", 2.75, 2)
    with time_machine.travel(TOMORROW - HOUR, tick=False):
        text = page(client_of(adri).get(f"/bookings/{booking.pk}/")).text
    assert "30 min longer" in text
    assert "1 h longer" not in text


def test_end_now_gives_the_rest_back(house: Any, adri: Any) -> None:
    booking, client = book(house, adri), client_of(adri)
    with time_machine.travel(TOMORROW + 0.6 * HOUR, tick=False):
        actions.arrive(booking=booking, now=TOMORROW, by=adri)
        client.post(at(booking), tap(page(client.get(f"/bookings/{booking.pk}/")), "End now: until 13:45"))
        assert times(booking) == ("E1", 0, 0.75)
        assert actions.book(
            member=makers.member("Bente"),
            station=house.stations["E1"],
            process=house.processes["rc"],
            starts=TOMORROW + HOUR,
            ends=TOMORROW + 2 * HOUR,
            now=TOMORROW + 0.6 * HOUR,
            by=makers.member("Sam", is_staff=True),
        ).pk


def test_swapping_takes_an_equal_booth_that_is_free_at_the_same_time(house: Any, adri: Any) -> None:
    booking = book(house, adri)
    book(house, makers.member("Bente"), "E2", 1, 2)
    book(house, makers.member("Cleo"), "E3", 0, 2, "ra4")
    client = client_of(adri)
    soup = page(client.get(at(booking)))
    names = [one.b.text for one in soup.select("li.row") if one.b]
    # E2 is taken for a part; E4 shares the room with E3, where somebody works in the dark.
    assert names == []
    actions.cancel(booking=Booking.objects.get(member__name="Cleo"), now=NOW, by=Booking.objects.last().member)
    soup = page(client.get(at(booking)))
    assert [one.b.text for one in soup.select("li.row") if one.b] == ["Booth 3", "Booth 4"]
    assert client.post(at(booking), tap(soup, "Swap: Booth 4")).status_code == 302
    assert times(booking) == ("E4", 0, 2)
    assert Hold.objects.filter(booking=booking).count() == 2


def test_two_tabs_one_moves_it_and_the_other_then_has_to_look_again(house: Any, adri: Any) -> None:
    booking, client = book(house, adri), client_of(adri)
    old = page(client.get(at(booking), WISH | {"until": "14:30"}))
    client.post(at(booking), tap(page(client.get(at(booking), WISH | {"begins": "17:00", "until": "19:00"})), "Change"))
    assert times(booking) == ("E1", 4, 6)
    answer = client.post(at(booking), tap(old, "Change it to this"))
    assert answer.status_code == 409
    text = " ".join(page(answer).text.split())
    assert "changed meanwhile" in text
    assert "17:00 to 19:00" in text
    assert times(booking) == ("E1", 4, 6)


def test_two_tabs_one_cancels_and_the_other_can_change_nothing(house: Any, adri: Any) -> None:
    booking, client = book(house, adri), client_of(adri)
    sent = tap(page(client.get(at(booking), WISH | {"until": "16:00"})), "Change it to this")
    client.post(f"/bookings/{booking.pk}/cancel/")
    answer = client.post(at(booking), sent)
    assert answer.status_code == 409
    assert "was cancelled" in page(answer).text
    assert times(booking) == ("E1", 0, 2)
    assert client.get(at(booking)).status_code == 409


def test_changing_in_one_tab_and_cancelling_in_the_other_leaves_nothing_held(house: Any, adri: Any) -> None:
    booking, client = book(house, adri), client_of(adri)
    client.post(at(booking), WISH | {"until": "16:00"} | key())
    client.post(f"/bookings/{booking.pk}/cancel/")
    assert not Hold.objects.filter(booking=booking).exists()


@pytest.mark.parametrize("way", ["change", "undo"])
def test_another_persons_booking_is_not_there_in_path_query_or_body(house: Any, adri: Any, way: str) -> None:
    theirs, other = book(house, makers.member("Bente")), client_of(adri)
    mine = book(house, adri, "E2")
    assert other.post(f"/bookings/{theirs.pk}/{way}/", WISH | {"until": "14:00"} | key()).status_code == 404
    if way == "change":
        assert other.get(at(theirs)).status_code == 404
        body = {"booking": theirs.pk, "pk": theirs.pk, "member": theirs.member_id, "whom": theirs.member.number}
        other.post(at(mine) + f"?booking={theirs.pk}", WISH | {"station": "E2", "until": "14:00"} | body | key())
        assert times(mine) == ("E2", 0, 1)
        mine.refresh_from_db()
        assert mine.member == adri
    assert times(theirs) == ("E1", 0, 2)


def test_staff_change_for_a_member_with_a_reason_and_the_member_is_told(house: Any, adri: Any) -> None:
    from studiodesk.journal.models import Notice

    booking, staff = book(house, adri), client_of(makers.member("Sam", is_staff=True))
    seen = page(staff.get(at(booking), WISH | {"station": "E2"}))
    sent = tap(seen, "Change it to this") | {"reason": "the lamp of booth 1 is broken"}
    assert staff.post(at(booking), sent).status_code == 302
    assert times(booking) == ("E2", 0, 2)
    assert Notice.objects.filter(person=adri, code="bookings.moved_by_house").exists()
    assert "reason" not in tap(page(client_of(adri).get(at(booking), WISH)), "Change it to this")


def test_kit_and_guests_stay_when_only_the_time_is_changed(house: Any, adri: Any) -> None:
    rule("guests", 2)
    lens, _made = stations.describe_kit(code="LENS", name="Lens", pieces=2, now=NOW)
    client = client_of(adri)
    client.post("/book/", WISH | {f"kit-{lens.pk}": "1", "guests": "1"} | key())
    booking = Booking.objects.get()
    client.post(at(booking), WISH | {"until": "16:00"} | key())
    booking.refresh_from_db()
    assert (kit_of(booking), booking.guests) == (((lens, 1),), 1)
    seen = page(client.get(at(booking), WISH | {"until": "16:30"}))
    assert seen.select_one(f"#id_kit-{lens.pk}")["value"] == "1"
    client.post(at(booking), tap(seen, "Change it to this") | {f"kit-{lens.pk}": "", "guests": ""})
    booking.refresh_from_db()
    assert (kit_of(booking), booking.guests) == ((), 0)
    assert times(booking) == ("E1", 0, 3.5)


def test_a_begun_booking_keeps_its_start_whatever_grid_it_lies_on(house: Any, adri: Any) -> None:
    sam = makers.member("Sam", is_staff=True)
    booking = actions.book(
        member=adri,
        station=house.stations["E1"],
        process=house.processes["rc"],
        starts=TOMORROW + HOUR / 12,
        ends=TOMORROW + 2 * HOUR,
        now=NOW,
        by=sam,
    )
    with time_machine.travel(TOMORROW + 0.5 * HOUR, tick=False):
        client = client_of(adri)
        moved = client.post(at(booking), WISH | {"begins": "13:45", "until": "15:00"} | key())
        assert moved.status_code == 409
        assert "its start stays as it is" in page(moved).text
        longer = client.post(at(booking), WISH | {"begins": "13:05", "until": "15:30"} | key())
        assert longer.status_code == 302
    assert times(booking)[2] == 2.5
