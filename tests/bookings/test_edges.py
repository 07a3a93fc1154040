"""Bad input at the pages of booking: odd times, stations of another kind, keys of others, text that is none.

Nothing of it may be a fault of ours (500), book, move or cancel anything, or tell that something is there.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
import time_machine

from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, Hold, Series, WaitingWish
from studiodesk.bookings.rules.series import Recurrence
from studiodesk.stations import actions as stations
from tests import makers
from tests.bookings.changing import at, button
from tests.bookings.paging import HOUR, NOW, TOMORROW, WISH, book, client_of, key, page
from tests.bookings.waits import full, offer_of, wait


@pytest.fixture(autouse=True)
def _frozen() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


def rows() -> tuple[int, ...]:
    return Booking.objects.count(), Hold.objects.count(), Series.objects.count(), WaitingWish.objects.count()


def changed_to(booking: Booking, **more: str) -> dict[str, str]:
    """The fields of a change that leaves everything but ``more`` as it is."""
    return {**WISH, "seq": str(booking.sequence), **more, **key()}


#: What is asked, and the answer: 422 at a field, 409 above the form.
TIMES = [
    ({"begins": "13:07"}, 422),
    ({"begins": "13:01:30"}, 422),
    ({"day": "2026-11-25", "begins": "10:00", "until": "12:00"}, 422),
    ({"day": "2026-11-24"}, 422),
    ({"day": "2027-03-28", "begins": "02:30", "until": "04:00"}, 422),
    ({"begins": "15:00", "until": "15:00"}, 422),
    ({"begins": "23:00", "until": "22:00"}, 422),
    ({"day": "2026-02-30"}, 422),
    ({"day": "9999-12-31"}, 422),
    ({"begins": "24:00"}, 422),
    ({"station": "S1", "process": "rc", "begins": "21:00", "until": "23:30"}, 422),
    ({"station": "E9"}, 422),
    ({"station": "E2", "process": "ra4"}, 422),
]


@pytest.mark.parametrize(("change", "status"), TIMES)
def test_what_cannot_be_booked_can_neither_be_moved_to(
    house: Any, adri: Any, change: dict[str, str], status: int
) -> None:
    client, booking = client_of(adri), book(house, adri)
    before = rows()
    assert client.post("/book/", WISH | change | key()).status_code == status
    assert client.post(at(booking), changed_to(booking, **change)).status_code == status
    assert client.get("/book/", WISH | change).status_code == 200
    booking.refresh_from_db()
    assert rows() == before and (booking.starts, booking.sequence) == (TOMORROW, 0)


@pytest.mark.parametrize("night", [date(2027, 3, 27), date(2027, 10, 30)])
def test_over_midnight_of_a_clock_change_the_page_books_what_the_clock_says(house: Any, adri: Any, night: date) -> None:
    """In Amsterdam the clock jumps from 02:00 to 03:00 on 28 March 2027, and shows 02:00 to 03:00 twice on 31 October
    (tz database): 23:00 to 05:00 are 5 and 7 hours."""
    stations.set_opening(week={day: [(0, 1440)] for day in range(7)})
    wish = WISH | {"day": night.isoformat(), "begins": "23:00", "until": "05:00"}
    client = client_of(adri)
    assert client.post("/book/", wish | key()).status_code == 302
    booking = Booking.objects.get()
    assert (booking.ends - booking.starts) / HOUR == {3: 5, 10: 7}[night.month]
    # Changed without a change it stays, and an hour shorter it is an hour shorter.
    assert client.post(at(booking), wish | {"seq": "0"} | key()).status_code == 302
    assert client.post(at(booking), wish | {"until": "04:00", "seq": "0"} | key()).status_code == 302
    booking.refresh_from_db()
    assert (booking.ends - booking.starts) / HOUR == {3: 4, 10: 6}[night.month]


def test_of_a_time_that_the_clock_shows_twice_the_first_is_booked(house: Any, adri: Any) -> None:
    stations.set_opening(week={day: [(0, 1440)] for day in range(7)})
    wish = WISH | {"day": "2027-10-31", "begins": "02:30", "until": "04:30"}
    assert client_of(adri).post("/book/", wish | key()).status_code == 302
    booking = Booking.objects.get()
    assert (booking.starts, booking.ends) == (
        datetime(2027, 10, 31, 0, 30, tzinfo=UTC),
        datetime(2027, 10, 31, 3, 30, tzinfo=UTC),
    )


def test_a_station_of_another_kind_takes_no_booking_made_for_a_booth(house: Any, adri: Any) -> None:
    given = {"station": house.stations["E1"], "process": house.processes["rc"], "now": NOW, "by": adri}
    of = Recurrence(date(2026, 11, 26), date(2026, 12, 3), 1, 13 * 60, 2 * HOUR)
    made = actions.book_series(member=adri, of=of, **given)
    client, first = client_of(adri), made.bookings[0]
    answer = client.post(f"/bookings/{first.pk}/series/", {"scope": "all", "station": "S1"})
    assert answer.status_code == 422  # only stations of the kind are in the list
    # On the page of one a station without processes takes none: that is another booking, and it says what it will be.
    assert client.post(at(first), changed_to(first, station="S1")).status_code == 302
    first.refresh_from_db()
    assert (first.station.code, first.process, first.processor) == ("S1", None, None)
    back = client.post(at(first), {**changed_to(first, station="E1", process="-"), "seq": str(first.sequence)})
    assert back.status_code == 422


@pytest.mark.parametrize(
    "answer",
    [
        "S1|2026-12-03T12:00:00+00:00|2026-12-03T14:00:00+00:00",  # another kind: it does not do the process
        "E2|9999-12-31T10:00:00+00:00|9999-12-31T12:00:00+00:00",
        "E2|0001-01-01T00:00:00+00:00|0001-01-01T02:00:00+00:00",
        "E2|2026-12-03T12:00:00+00:00|2036-12-03T12:00:00+00:00",
        "E2|2026-12-03T12:00:00|2026-12-03T14:00:00",  # no zone
        "E2|2026-12-03T14:00:00+00:00|2026-12-03T12:00:00+00:00",
        "E2|2026-12-03T12:07:00+00:00|2026-12-03T14:07:00+00:00",
        "E9|2026-12-03T12:00:00+00:00|2026-12-03T14:00:00+00:00",
        "\x00",
    ],
)
def test_a_made_up_answer_to_a_clash_books_nothing(house: Any, adri: Any, answer: str) -> None:
    book(house, makers.member("Bente"), "E1", start=24 * 7)
    before = rows()
    wish = {**WISH, "every": "1", "last_day": "2026-12-17", "clash-2026-12-03": answer}
    assert client_of(adri).post("/series/new/", wish | key()).status_code == 409
    assert rows() == before


@pytest.mark.parametrize("last_day", ["2030-11-21", "9999-12-31", "2026-11-01", "x"])
def test_a_series_without_end_is_refused_by_its_page(house: Any, adri: Any, last_day: str) -> None:
    response = client_of(adri).post("/series/new/", {**WISH, "every": "1", "last_day": last_day} | key())
    assert response.status_code in {409, 422} and rows() == (0, 0, 0, 0)


def test_the_keys_of_others_open_nothing_in_path_query_or_body(house: Any, adri: Any) -> None:
    bente = makers.member("Bente")
    theirs, kept = book(house, bente), full(house, bente, NOW, start=4)
    wish = wait(bente, NOW, not_before=17 * 60, not_after=19 * 60)
    actions.cancel(booking=kept, now=NOW, by=bente)
    actions.serve_all(now=NOW)
    offer = offer_of(wish)
    offered = offer.booking.pk if offer else theirs.pk
    before, client = rows(), client_of(adri)
    for way in ("cancel", "undo", "accept", "decline", "series/cancel"):
        for booking in (theirs.pk, offered, 10**30):
            assert client.post(f"/bookings/{booking}/{way}/", {"scope": "all"}).status_code == 404
    for way in ("", "change/", "series/", "calendar.ics"):
        assert client.get(f"/bookings/{theirs.pk}/{way}").status_code == 404
    assert client.post(f"/waiting/{wish.pk}/stop/").status_code == 404
    # A key in the query or the body is no field of these pages: what is booked is booked for whoever asks.
    extra = {"whom": bente.number, "member": bente.pk, "booking": theirs.pk, "pk": theirs.pk, "id": theirs.pk}
    assert client.post(f"/book/?booking={theirs.pk}", WISH | {"station": "E2"} | extra | key()).status_code == 302
    assert Booking.objects.latest("pk").member == adri
    theirs.refresh_from_db()
    wish.refresh_from_db()
    assert (theirs.cancelled_at, theirs.sequence, wish.ended_at) == (None, 0, None)
    assert rows()[2:] == before[2:] and rows()[0] == before[0] + 1


NO_TEXT = ['"\\u0000"', '"\\ud800"', "[]", "1e400", "NaN", "true", "{}", '[["\\u0000",1]]', "[" * 900]


@pytest.mark.parametrize("value", NO_TEXT)
@pytest.mark.parametrize("name", ["negative", "process", "kind", "light_source", "kit", "length", "first_day"])
def test_a_wish_that_no_page_wrote_is_read_as_far_as_it_can_be(house: Any, adri: Any, name: str, value: str) -> None:
    client, need = client_of(adri), f'{{"{name}":{value}}}'
    assert client.get("/waiting/new/", {"need": need}).status_code == 200
    fields = {"kind": "enlarger booth", "process": "rc", "length": "120"}
    days = {"first_day": "2026-11-27", "last_day": "2026-11-27", "not_before": "", "not_after": ""}
    response = client.post("/waiting/new/", {**fields, **days, "need": need} | key())
    assert response.status_code in {302, 409, 422}
    assert client.get("/waiting/").status_code == 200
    assert [json.dumps(wish.need) for wish in WaitingWish.objects.all() if "\\u0000" in json.dumps(wish.need)] == []


def test_signs_that_a_database_refuses_are_no_fault_of_ours(house: Any, adri: Any) -> None:
    client, booking = client_of(adri), book(house, adri)
    assert client.get(f"/bookings/{booking.pk}/", {"friend": "E2\x00"}).status_code == 200
    assert client.post("/book/", WISH | {"station": "E2", "key": "a\x00b"}).status_code == 400
    assert client.post(f"/bookings/{booking.pk}/undo/", {"seq": "9" * 400}).status_code == 409


def test_two_tabs_undo_one_change_and_then_the_page_says_so(house: Any, adri: Any) -> None:
    client, booking = client_of(adri), book(house, adri)
    for until in ("14:00", "16:00"):
        booking.refresh_from_db()
        assert client.post(at(booking), changed_to(booking, until=until)).status_code == 302
    soup = page(client.get(f"/bookings/{booking.pk}/"))
    fields = button(soup.select_one(f'form[action="/bookings/{booking.pk}/undo/"]'))
    for _press in (1, 2):  # a double tap, or the other tab
        assert client.post(f"/bookings/{booking.pk}/undo/", fields).status_code == 302
    booking.refresh_from_db()
    assert booking.ends == TOMORROW + HOUR
    with time_machine.travel(NOW + timedelta(hours=1), tick=False):
        assert client.post(at(booking), changed_to(booking, until="15:30")).status_code == 302
        assert client.post(f"/bookings/{booking.pk}/undo/", fields).status_code == 409


def test_nobody_under_age_waits_for_what_could_never_be_kept_for_them(house: Any, adri: Any) -> None:
    adri.born_on = date(2010, 11, 26)
    adri.save(update_fields=["born_on"])
    wish = {"kind": "scanning station", "process": "-", "length": "60", "not_before": "", "not_after": "", "need": ""}
    for day, status in (("2026-11-27", 409), ("2027-06-01", 409)):
        response = client_of(adri).post("/waiting/new/", {**wish, "first_day": day, "last_day": day} | key())
        assert response.status_code == status and "adult" in response.content.decode()
    adri.born_on = date(2008, 11, 27)
    adri.save(update_fields=["born_on"])
    days = {"first_day": "2026-11-27", "last_day": "2026-11-27"}  # the day on which they are eighteen
    assert client_of(adri).post("/waiting/new/", {**wish, **days} | key()).status_code == 302
