"""Outlines and their dates with what people mistype: a sentence beside the field, never an error of the house."""

from __future__ import annotations

import pytest
import time_machine

from studiodesk.answers import Refused
from studiodesk.bookings.models import GroupStay
from studiodesk.classes import actions
from studiodesk.classes.models import Course, Outline, Place
from tests import makers

from .making import HOUR, at, course, outline
from .test_pages import client_of, words


@pytest.fixture(autouse=True)
def then(now):
    with time_machine.travel(now, tick=False):
        yield


@pytest.fixture
def client(house):
    return client_of(makers.member("Tutor", is_tutor=True))


FIELDS = {
    "name": "First prints",
    "sort": "class",
    "level": "no experience",
    "meetings": "1",
    "length": "180",
    "before": "30",
    "after": "30",
    "heads_most": "4",
    "heads_least": "2",
    "heads_a_station": "2",
    "price": "45.50",
    "free_cancel_days": "7",
    "key": "k",
}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"length": "300000"}, "at most 263520"),
        ({"price": "99999999"}, "Price (EUR): at most 42949.67"),
        ({"price": "1e400"}, "Price (EUR): at most 42949.67"),
        ({"price": "12.345"}, "Price (EUR): at most 2 digits after the point"),
        ({"member_price": "12.345"}, "Price for members (EUR): at most 2 digits after the point"),
        ({"price": "0", "member_price": "500"}, "Price for members: no more than the price."),
        (
            {"paper_1": "203 x 254", "sheets_1": "4", "paper_2": "203 x 254", "sheets_2": "5"},
            "This size of paper stands there already.",
        ),
        ({"sort": "open evening", "decide_days": "3"}, "nobody signs up for this"),
        ({"sort": "room kept", "decide_days": "0"}, "nobody signs up for this"),
    ],
)
def test_what_cannot_be_kept_is_said_and_nothing_is(client, change, said) -> None:
    answer = client.post("/outlines/new/", FIELDS | change)
    assert answer.status_code == 422 and said in words(answer)
    assert not Outline.objects.exists()


def test_the_most_that_fits_is_kept_on_every_database(client) -> None:
    most = {"length": "31680", "price": "42949.67", "heads_most": "500"}
    assert client.post("/outlines/new/", FIELDS | most).status_code == 302
    row = Outline.objects.get()
    assert (row.length_minutes, row.price_minor) == (31680, 4294967)
    assert row.price_minor * 500 < 2**31


def test_a_currency_without_decimals_takes_none(house, client) -> None:
    from studiodesk.stations import actions as stations

    stations.describe_studio(name="Ostermill Darkroom", time_zone="Asia/Tokyo", currency="JPY", currency_digits=0)
    assert "at most 0 digits" in words(client.post("/outlines/new/", FIELDS))
    assert client.post("/outlines/new/", FIELDS | {"price": "4500", "key": "k2"}).status_code == 302
    assert Outline.objects.get().price_minor == 4500


def test_a_second_press_writes_one_outline_and_nobodys_is_written_over(house, now, client) -> None:
    first, second = (client.post("/outlines/new/", FIELDS) for _ in range(2))
    assert first.url == second.url and Outline.objects.count() == 1
    client.post("/outlines/new/", FIELDS | {"key": "another"})
    assert Outline.objects.count() == 2
    row = Outline.objects.get(code="first-prints")
    with pytest.raises(Refused) as refused:
        actions.write_outline(
            code="first-prints",
            says={"name": "Theirs", "heads_least": 1, "heads_most": 2, "length_minutes": 60},
            needs=[],
            now=now,
            by=None,
            is_new=True,
        )
    assert refused.value.refusal.code == "classes.outline_exists"
    assert Outline.objects.get(pk=row.pk).name == "First prints"


DATES = {"begins": "19:00", "every": "1", "times": "1", "heads_most": "4", "heads_least": "2"}


@pytest.mark.parametrize(
    ("meetings", "change", "said"),
    [
        (1, {"first_day": "9999-12-31"}, "at most five years ahead"),
        (2, {"first_day": "9999-12-31"}, "at most five years ahead"),
        (1, {"first_day": "9999-12-31", "times": "2"}, "at most five years ahead"),
        (1, {"first_day": "0001-01-01"}, "that day has passed"),
        (2, {"first_day": "2026-11-24"}, "that day has passed"),
        (1, {"first_day": "2026-12-09", "every": "52", "times": "52"}, "more than five years ahead"),
    ],
)
def test_days_that_nobody_plans_are_refused_by_looking_and_by_announcing(
    house, now, client, meetings, change, said
) -> None:
    of = outline(house, now, meetings=meetings)
    path, fields = f"/outlines/{of.code}/dates/", DATES | change | {"key": "k"}
    for answer in (client.get(path, fields), client.post(path, fields)):
        assert answer.status_code == 422 and said in words(answer) and "All of it is free" not in words(answer)
    assert not Course.objects.exists()


def test_a_time_of_today_that_has_passed_is_not_free_to_look_at(house, now, client) -> None:
    of, today = outline(house, now), {"first_day": "2026-11-25", "begins": "10:00"}
    looked = client.get(f"/outlines/{of.code}/dates/", DATES | today)
    assert looked.status_code == 409 and "That time has passed." in words(looked)


@pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01", "2026-11-24", "2031-11-27"])
def test_a_class_is_moved_to_no_such_day(house, now, client, day) -> None:
    made = course(house, now, tutor=makers.member("T", is_tutor=True))
    staff = client_of(makers.member("Staff", is_staff=True))
    answer = staff.post(
        f"/classes/{made.reference}/plan/", {"do": "move", "first_day": day, "begins": "18:00", "key": "m"}
    )
    assert answer.status_code == 422 and "First day:" in words(answer)
    assert made.meetings.get().stay.starts == at(now).starts


def test_the_nearest_days_are_those_on_which_the_whole_series_fits(house, now, client) -> None:
    """The third of three Wednesdays is full, and so is the Thursday after the first."""
    lone = outline(house, now, code="lone", heads_a_station=1, name="Everything")
    for days in (28, 15):
        course(house, now, of=lone, tutor=makers.member(f"T{days}", is_tutor=True), spans=[at(now, days)])
    of = outline(house, now)
    looked = client.get(
        f"/outlines/{of.code}/dates/", DATES | {"first_day": "2026-12-09", "begins": "15:00", "times": "3"}
    )
    near = words(looked).split("The nearest days on which it fits:")[1]
    # Thursday 10 December is taken itself; from Tuesday 8 and Friday 11 all three are free.
    assert near.split()[:6] == ["Tuesday", "8", "December", "2026", "Friday", "11"], near[:200]


def test_no_dates_are_made_from_an_outline_that_was_retired(house, now, client) -> None:
    of = outline(house, now)
    actions.retire_outline(outline=of, now=now, by=makers.member("Staff", is_staff=True))
    assert client.get(f"/outlines/{of.code}/dates/").status_code == 404
    assert "Make dates" not in words(client.get(f"/outlines/{of.code}/"))
    with pytest.raises(Refused) as refused:
        actions.announce(outline=of, spans=[at(now)], tutor=None, now=now, by=None)
    assert refused.value.refusal.code == "classes.outline_retired"


def room_kept(house, now, **more):
    """The scanning room is kept for an exhibition of a week."""
    of = outline(
        house,
        now,
        code="show",
        name="Prints on the wall",
        sort="room kept",
        length_minutes=7 * 24 * 60,
        process=None,
        needs=[("scanning station", None, 1)],
        papers=[],
        before_minutes=0,
        after_minutes=0,
        heads_most=20,
        heads_least=1,
        **more,
    )
    starts = now + 2 * HOUR
    return actions.announce(
        outline=of, spans=[type(at(now))(starts, starts + 7 * 24 * HOUR)], tutor=None, now=now, by=None
    )


def test_a_room_that_is_kept_counts_nobody_and_takes_no_sign_ups(house, now) -> None:
    made = room_kept(house, now)
    assert GroupStay.objects.get().heads == 0
    course(house, now, days=2, heads_most=4), "24 may be in, and the wall is none of them"
    page = client_of().get(f"/classes/{made.reference}/")
    assert page.status_code == 200
    assert "Sign up" not in words(page) and "left" not in words(page) and "InStock" not in page.content.decode()
    asked = {"heads": "1", "name": "Kim", "email": "kim@example.org", "key": "k"}
    answer = client_of().post(f"/classes/{made.reference}/", asked)
    assert answer.status_code == 422 and "A room is kept here" in words(answer)
    assert not Place.objects.exists()


@pytest.mark.parametrize("sort", ["open evening", "room kept"])
def test_what_nobody_signs_up_for_is_not_called_off_for_want_of_people(house, now, sort) -> None:
    made = (
        room_kept(house, now, decide_days=0)
        if sort == "room kept"
        else course(house, now, of=outline(house, now, sort=sort, decide_days=3))
    )
    assert made.decide_at is None
    actions.decide_due(now=made.meetings.get().stay.starts - HOUR)
    assert Course.objects.get(pk=made.pk).decided == ""


def test_what_the_house_lays_out_is_on_the_plan_and_on_the_roster(house, now) -> None:
    made = course(house, now, of=outline(house, now, materials="Eight trays, two thermometers"))
    client = client_of(made.tutor)
    for page in ("plan", "roster"):
        assert "Eight trays, two thermometers" in words(client.get(f"/classes/{made.reference}/{page}/"))
    assert "Eight trays" not in words(client_of().get(f"/classes/{made.reference}/"))
