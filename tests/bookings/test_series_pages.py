"""The pages of a series: booked in one go, clashes answered one by one, edited by scope; nobody else's."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import pytest

from studiodesk.bookings.models import Booking, Series
from tests import makers
from tests.bookings.acting import booked
from tests.bookings.paging import client_of

ASKED = {
    "station": "E1",
    "process": "rc",
    "day": "2026-11-27",
    "begins": "18:00",
    "until": "20:00",
    "every": "1",
    "last_day": "2026-12-11",
}


@pytest.fixture
def adri(house: Any) -> Any:
    return makers.member("Adri")


def test_a_series_is_booked_once_however_often_the_button_is_pressed(
    house: Any, adri: Any, now: datetime, clock_at: Any
) -> None:
    with clock_at(now):
        client = client_of(adri)
        page = client.get("/series/new/?station=E1&process=rc&day=2026-11-27&begins=18:00&until=20:00")
        assert b'value="2026-11-27"' in page.content
        answers = [client.post("/series/new/", {**ASKED, "key": "k"}) for _ in range(2)]
        assert [answer.status_code for answer in answers] == [302, 302]
        assert (Series.objects.count(), Booking.objects.count()) == (1, 3)
        shown = client.get(answers[0].url)
    assert shown.content.count(b"18:00") >= 3


def test_each_clash_is_shown_with_its_reason_and_what_is_free_and_is_answered_in_the_same_form(
    house: Any, adri: Any, now: datetime, clock_at: Any
) -> None:
    booked(house, makers.member("Bente"), now, start=24 * 8 + 5)  # Friday 4 December, 18:00
    with clock_at(now):
        client = client_of(adri)
        page = client.post("/series/new/", {**ASKED, "key": "k"})
        assert page.status_code == 409 and Booking.objects.count() == 1
        text = page.content.decode()
        assert "Friday 4 December" in text and "Booth 1 is taken" in text and 'name="clash-2026-12-04"' in text
        option = next(row for row in page.context["clashes"][0]["options"] if row["free"].station.code == "E2")
        answer = client.post("/series/new/", {**ASKED, "key": "k2", "clash-2026-12-04": option["value"]})
        assert answer.status_code == 302
    mine = Booking.objects.filter(member=adri).order_by("starts")
    assert [row.station.code for row in mine] == ["E1", "E2", "E1"]


def test_a_day_that_is_left_out_is_not_booked_and_nonsense_in_an_answer_is_no_answer(
    house: Any, adri: Any, now: datetime, clock_at: Any
) -> None:
    with clock_at(now):
        answer = client_of(adri).post(
            "/series/new/",
            {**ASKED, "key": "k", "clash-2026-12-04": "out", "clash-2026-13-04": "out", "clash-2026-12-11": "E9|x"},
        )
    assert answer.status_code == 302
    assert [row.starts.date() for row in Booking.objects.order_by("starts")] == [date(2026, 11, 27), date(2026, 12, 11)]


@pytest.mark.parametrize(
    ("field", "value"), [("last_day", "2026-11-20"), ("every", "9"), ("last_day", "x"), ("until", "18:00")]
)
def test_what_was_put_in_wrongly_is_said_and_stays(
    house: Any, adri: Any, now: datetime, clock_at: Any, field: str, value: str
) -> None:
    with clock_at(now):
        page = client_of(adri).post("/series/new/", {**ASKED, "key": "k", field: value})
    assert page.status_code in {409, 422} and Series.objects.count() == 0
    assert f'value="{ASKED["begins"]}"' in page.content.decode()


def test_the_following_are_changed_and_cancelled_from_the_page_of_one(
    house: Any, adri: Any, now: datetime, clock_at: Any
) -> None:
    with clock_at(now):
        client = client_of(adri)
        client.post("/series/new/", {**ASKED, "key": "k"})
        second = Booking.objects.order_by("starts")[1]
        way = f"/bookings/{second.pk}/series/"
        assert client.post(way, {"scope": "following"}).status_code == 422  # nothing is to be other
        answer = client.post(way, {"scope": "following", "begins": "19:00"})
        assert answer.status_code == 302
        hours = [row.starts.hour for row in Booking.objects.order_by("starts")]
        assert hours == [17, 18, 18]
        assert {row.ends - row.starts for row in Booking.objects.all()} == {second.ends - second.starts}
        assert client.post(f"{way}cancel/", {"scope": "nothing"}).status_code == 422
        assert client.post(f"{way}cancel/", {"scope": "all"}).status_code == 302
    assert Booking.objects.filter(cancelled_at__isnull=True).count() == 1


def test_somebody_else_s_series_is_not_there(house: Any, adri: Any, now: datetime, clock_at: Any) -> None:
    with clock_at(now):
        client_of(adri).post("/series/new/", {**ASKED, "key": "k"})
        other = client_of(makers.member("Bente"))
        first = Booking.objects.order_by("starts")[0]
        for way in ("", "cancel/"):
            assert other.post(f"/bookings/{first.pk}/series/{way}", {"scope": "all"}).status_code == 404
        alone = booked(house, adri, now, "S1", process=None)
        assert client_of(adri).get(f"/bookings/{alone.pk}/series/").status_code == 404
