"""Ten browsers press for eight seats: nobody sits on another's, two wait, and who cancels makes room for the first."""

from __future__ import annotations

import re
from typing import Any

import pytest

from studiodesk.classes.models import Course, Place, Seat

from .conftest import page_of
from .learning import evening_of, link_in_letter, members, outlined
from .people import log_in
from .phone import PHONE, Phone

NAMES = ["Ada", "Bo", "Cem", "Dirk", "Elif", "Fay", "Gus", "Hoa", "Ivo", "Jun"]


def seats_of(course: Course) -> list[int]:
    """The numbers of the seats that somebody has; each at most once, and none beyond the last."""
    numbers = list(Seat.objects.filter(course=course).order_by("number").values_list("number", flat=True))
    assert len(numbers) == len(set(numbers)) <= course.heads_most and max(numbers) <= course.heads_most
    return numbers


@pytest.fixture
def phones(site: Any, browser: Any) -> Any:
    """A phone for each of ten members, every other one without JavaScript."""
    members(NAMES)
    found = {}
    for number, name in enumerate(NAMES):
        page = page_of(browser, javascript=number % 2 == 0, **PHONE)
        log_in(page, site, name.lower())
        found[name] = Phone(page, site)
    yield found
    assert [fault for phone in found.values() for fault in phone.page.faults] == []


def test_ten_press_for_eight_seats_and_the_first_in_line_gets_the_one_given_back(phones: Any, outbox: Any) -> None:
    course = evening_of(outlined())
    for phone in phones.values():
        phone.go(f"/classes/{course.reference}/")
        phone.says("8 of 8 left")
    # All have the page of an empty class; each press leaves before the answer to the one before has come.
    for phone in phones.values():
        phone.page.locator("main form button.act").dispatch_event("click")
    for phone in phones.values():
        phone.page.wait_for_url(re.compile(r"/places/\d+/$"))
    assert seats_of(course) == list(range(1, 9))
    places = {place.member.name: place for place in Place.objects.select_related("member")}
    booked = [name for name, place in places.items() if place.state == "booked"]
    line = [place.member.name for place in Place.objects.filter(state="waiting").order_by("in_line_since", "pk")]
    assert (len(places), len(booked), len(line)) == (10, 8, 2)
    for name in booked:
        phones[name].says("Yours")
    for number, name in enumerate(line, 1):
        phones[name].says(f"In line: number {number}", "we write as soon as there is a place")

    # A second press of an old page is the same place; the page of the class says who has what.
    phones[line[0]].go(f"/classes/{course.reference}/")
    phones[line[0]].says("0 of 8 left, 2 people in line", "In line")

    leaver = phones[booked[3]]
    leaver.unfold("Give the place back")
    leaver.tap("Yes, give it back")
    leaver.says("Given back")
    first, second = phones[line[0]], phones[line[1]]
    assert len(seats_of(course)) == 8, "the seat is kept for the first in line at once"
    first.go(link_in_letter(outbox, f"{line[0].lower()}@example.org", "A place is kept for you"))
    first.says("Kept for you, until Thursday 26 November 2026, 14:0", "45.00 EUR")
    second.go(f"/places/{places[line[1]].pk}/")
    second.says("In line: number 1")
    assert second.page.get_by_role("button", name="Take it").count() == 0

    # Whoever comes from outside meanwhile gets no seat either: the one that is free is kept.
    leaver.go(f"/classes/{course.reference}/")
    leaver.says("0 of 8 left, 1 person in line")
    leaver.tap("^Wait in line$")
    leaver.says("In line: number 2")

    first.tap("^Take it$")
    first.says("It is yours.", "Yours")
    states = list(course.places.order_by("pk").values_list("state", flat=True))
    assert (states.count("booked"), states.count("waiting"), len(seats_of(course))) == (8, 2, 8)
    second.unfold("Leave the line")
    second.tap("Yes, leave the line")
    second.says("Given back")
    leaver.go(f"/places/{course.places.get(state='waiting').pk}/")
    leaver.says("In line: number 1")
