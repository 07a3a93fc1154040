"""The page of whoever runs a class: how to reach people, what is said of a class that is off, and of a hire."""

from __future__ import annotations

from urllib.parse import unquote

import pytest
import time_machine

from studiodesk.classes import actions
from tests import makers
from tests.chemistry.pages import soup_of

from .making import course
from .test_hires import hired
from .test_pages import client_of, words


@pytest.fixture(autouse=True)
def then(now):
    with time_machine.travel(now, tick=False):
        yield


def page_of(person, made):
    return client_of(person).get(f"/classes/{made.reference}/plan/")


def test_every_address_is_a_link_that_a_mail_program_reads_back(house, now) -> None:
    """RFC 6068, section 2: "@" stands as it is in a mailto address; what else is special is percent-encoded once."""
    made = course(house, now)
    for number, email in enumerate(["kim@example.org", "o'neil+dark@example.org"]):
        actions.sign_up(course=made, heads=1, name=f"Guest {number}", email=email, now=now)
    links = [one["href"] for one in soup_of(page_of(made.tutor, made)).select('a[href^="mailto:"]')]
    assert links[0] == "mailto:kim@example.org" and links[1].count("@") == 1
    assert [unquote(link.removeprefix("mailto:")) for link in links] == ["kim@example.org", "o'neil+dark@example.org"]


def test_of_a_class_that_is_off_everybody_who_was_down_is_still_listed(house, now) -> None:
    made = course(house, now)
    actions.sign_up(course=made, heads=2, member=makers.member("Ona"), now=now)
    gone = actions.sign_up(course=made, heads=1, member=makers.member("Two"), now=now)
    actions.give_up(place=gone, now=now)
    actions.call_off_course(course=made, because="No water", now=now, by=made.tutor)
    page = words(page_of(made.tutor, made))
    assert "Who had signed up" in page and "Ona" in page and "Called off" in page
    assert "Two" not in page and "Given back" not in page and "Nobody" not in page


def test_a_tutor_of_a_hire_reads_of_a_group_and_not_of_a_class(house, now) -> None:
    staff, tutor = makers.member("Staff", is_staff=True), makers.member("Tutor", is_tutor=True)
    made = hired(house, now, staff).course
    actions.set_tutor(course=made, tutor=tutor, now=now, by=staff)
    for person in (tutor, staff):
        page = words(page_of(person, made))
        assert "6 people of Vlietschool." in page
        for of_a_class in ("Takes place", "at least", "It takes place, whoever", "Nobody has signed up yet."):
            assert of_a_class not in page, (person, of_a_class)
    assert "The group that hires" in words(page_of(staff, made))
    assert "The group that hires" not in words(page_of(tutor, made))
