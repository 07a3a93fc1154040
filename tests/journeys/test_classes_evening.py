"""The evening of a class on the tutor's phone, from who has come to the booth that somebody may book afterwards."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import pytest

from studiodesk.bookings.models import Booking
from studiodesk.classes import actions
from studiodesk.classes.models import Course
from studiodesk.people.models import Member
from studiodesk.safety import actions as safety
from studiodesk.safety.models import SafetyNote, SignOff
from studiodesk.stations.models import Process

from .conftest import EARLIER, NOW, page_of
from .learning import EVENING, evening_of, members, outlined
from .people import log_in
from .phone import PHONE, Phone

SECRET = "Allergic to metol"
BOOK = "/book/?station=E1&process=rc&day=2026-12-11&begins=18:00&until=20:00"


#: Each database once, each way of asking once: what differs by both is in the shorter journeys of booking.
pytestmark = pytest.mark.parametrize(
    ("engine", "phone_of"),
    [("sqlite", True), ("postgres", False)],
    ids=["sqlite-with-javascript", "postgres-without-javascript"],
    indirect=True,
)


@pytest.fixture
def course(site: Any) -> Course:
    """Four heads in a class that signs off for RC: a member with somebody, another member, a guest."""
    manager = Member.objects.get(name="Manager")
    need, _new = safety.set_sign_off_need(process=Process.objects.get(code="rc"), now=EARLIER, by=manager)
    made = evening_of(outlined([need]))
    ona, two = members(["Ona", "Two"])
    for note in SafetyNote.objects.all():
        safety.acknowledge(note=note, member=ona, now=NOW)
    place = actions.sign_up(course=made, heads=2, member=ona, now=NOW, by=ona)
    actions.say_need(place=place, words=SECRET, now=NOW)
    actions.sign_up(course=made, heads=1, member=two, now=NOW, by=two)
    actions.confirm_place(
        place=actions.sign_up(course=made, heads=1, name="Kim", email="kim@example.org", now=NOW), now=NOW
    )
    return made


@pytest.fixture
def phone_of(request: pytest.FixtureRequest, course: Course, site: Any, browser: Any) -> Any:
    """Gives a phone of whoever is named, logged in."""
    found = []

    def phone(who: str) -> Phone:
        page = page_of(browser, javascript=request.param, **PHONE)
        log_in(page, site, who)
        found.append(page)
        return Phone(page, site)

    yield phone
    assert [fault for page in found for fault in page.faults] == []


def tick(phone: Phone, *names: str) -> None:
    for name in names:
        phone.page.get_by_role("group", name="Who is here").get_by_label(re.compile(rf"\. {name}\b")).check()


def ticked(phone: Phone) -> list[bool]:
    return [
        box.is_checked() for box in phone.page.get_by_role("group", name="Who is here").get_by_role("checkbox").all()
    ]


def sits_at(phone: Phone) -> list[str]:
    chosen = "one => one.selectedOptions[0].textContent"
    return [one.evaluate(chosen) for one in phone.page.locator("main select[name^=at-]").all()]


def test_the_evening_is_run_and_whoever_was_signed_off_can_book(phone_of: Any, course: Course, clock: Any) -> None:
    ona = phone_of("ona")
    ona.go(BOOK)
    ona.says("Nobody has signed this member off yet for: Black-and-white, RC", "Take a class that teaches it")
    assert not ona.page.get_by_role("button", name=re.compile("^Book$")).is_visible()

    clock.move_to(EVENING.starts + timedelta(minutes=5))
    tutor = phone_of("tutor")
    tutor.go("/")
    tutor.page.locator(".ways > summary").tap()
    tutor.page.get_by_role("navigation").get_by_role("link", name="What is on").tap()
    tutor.page.wait_for_url(re.compile("/classes/$"))
    tutor.tap("Your classes", "link")
    tutor.says("You teach", "First prints, Wednesday 9 December 2026, 18:00")
    tutor.tap("First prints", "link")
    tutor.says("4 of 8 left", "Ona ona@example.org 2 Has a place")
    tutor.tap("Roster of the day", "link")
    tutor.says("0 of 4 are here", "1. Ona", "2. with Ona", "3. Two", "4. Kim", SECRET)

    tick(tutor, "Ona", "Two", "Kim")
    tutor.tap("Keep who is here")
    tutor.says("Kept: 3 of 4 are here")
    assert ticked(tutor) == [True, False, True, True]
    tick(tutor, "with Ona")
    tutor.tap("Keep who is here")
    tutor.says("4 of 4 are here")

    tutor.tap("Share the stations out")
    shared = sits_at(tutor)
    assert len(set(shared)) == 4 and all(re.match(r"Booth \d$", one) for one in shared), shared
    tutor.page.get_by_label("Station of 2. with Ona", exact=True).select_option(label=shared[0])
    tutor.tap("Keep it so")
    assert sits_at(tutor) == [shared[0], shared[0], *shared[2:]]
    tutor.says(f"2. with Ona · {shared[0]}")

    # The same roster as staff read it: everything but what was said to the tutor.
    staff = phone_of("staff")
    staff.go(f"/classes/{course.reference}/roster/")
    staff.says("4 of 4 are here", f"1. Ona · {shared[0]}", "shown to the tutor alone")
    assert SECRET not in staff.page.content() and "metol" not in staff.page.content()
    friend = phone_of("friend")
    assert friend.page.goto(friend.site.url(f"/classes/{course.reference}/roster/")).status in {403, 404}

    # In one go, for those who have an account; whoever is not ticked is not.
    assert tutor.small_targets() == [] and staff.small_targets() == []
    tutor.tap("Sign the ticked ones off: Black-and-white, RC")
    tutor.says("2 people are signed off")
    assert ticked(tutor) == [True] * 4
    assert set(SignOff.objects.values_list("member__name", "given_by__name")) == {("Ona", "Tutor"), ("Two", "Tutor")}

    tutor.fill(notes="The red lamp of booth 2 flickers.")
    tutor.tap("Keep the notes")
    tutor.says("Kept for whoever teaches next")

    ona = phone_of("ona")  # two weeks later the phone asks for the password again
    ona.go(BOOK)
    ona.says("What you will get", "Booth 1")
    ona.tap("^Book$")
    ona.page.wait_for_url(re.compile(r"/bookings/\d+/$"))
    assert Booking.objects.get().member.name == "Ona"


def test_the_next_evening_begins_with_what_was_left_before(phone_of: Any, course: Course, clock: Any) -> None:
    later = evening_of(course.outline, days=7)
    actions.sign_up(course=later, heads=1, member=Member.objects.get(name="Two"), now=NOW)
    clock.move_to(EVENING.ends)
    tutor = phone_of("tutor")
    tutor.go(f"/classes/{later.reference}/roster/")
    assert "Left by who taught before" not in tutor.words()
    tutor.go(f"/classes/{course.reference}/roster/")
    tutor.fill(notes="Booth 2: the lamp flickers.\nTwo boxes of paper are left.")
    tutor.tap("Keep the notes")
    tutor.go(f"/classes/{later.reference}/roster/")
    tutor.says(
        "Left by who taught before", "Wednesday 9 December 2026: Booth 2: the lamp flickers", "Two boxes of paper"
    )
    assert SECRET not in tutor.page.content() and tutor.small_targets() == []
