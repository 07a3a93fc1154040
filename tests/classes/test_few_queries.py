"""Lists of classes ask the database as often for six as for one."""

from __future__ import annotations

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from studiodesk.classes import actions
from tests import makers

from .making import at, course, outline
from .test_pages import client_of, words


@pytest.fixture(autouse=True)
def then(now):
    with time_machine.travel(now, tick=False):
        yield


def asked(client, path: str) -> int:
    client.get(path)  # whatever is read once in a process
    with CaptureQueriesContext(connection) as found:
        assert client.get(path).status_code == 200
    return len(found)


@pytest.mark.parametrize(
    "path",
    [
        "/classes/",
        "/classes/yours/",
        "/classes/atom.xml",
        "/classes/rss.xml",
        "/classes/calendar.ics",
        "/outlines/",
    ],
)
def test_six_classes_are_read_as_one_is(house, now, path) -> None:
    tutor, who = makers.member("Tutor", is_tutor=True), makers.member("Comes", is_tutor=True)
    of = outline(house, now)
    client, before = client_of(who), 0
    for number in range(6):
        made = course(house, now, of=of, tutor=tutor, days=14 + number)
        actions.sign_up(course=made, heads=1, member=who, now=now)
        actions.sign_up(course=made, heads=2, member=makers.member(f"Other {number}"), now=now)
        if number == 0:
            before = asked(client, path)
    assert asked(client, path) == before


@pytest.mark.parametrize("blocked", [False, True], ids=["free", "blocked"])
def test_looking_at_many_dates_is_one_look(house, now, blocked) -> None:
    of, client = outline(house, now), client_of(makers.member("Tutor", is_tutor=True))
    if blocked:
        lone = outline(house, now, code="lone", heads_a_station=1, name="Everything")
        for number in range(6):
            course(
                house, now, of=lone, tutor=makers.member(f"T{number}", is_tutor=True), spans=[at(now, 14 + 7 * number)]
            )
    ask = {"first_day": "2026-12-09", "begins": "15:00", "every": "1", "heads_most": "4", "heads_least": "2"}

    def count(times: int) -> int:
        with CaptureQueriesContext(connection) as found:
            page = client.get(f"/outlines/{of.code}/dates/", {**ask, "times": str(times)})
        assert ("In the way:" in words(page) and "Everything" in words(page)) is blocked
        return len(found)

    count(1)
    assert count(6) == count(1)
