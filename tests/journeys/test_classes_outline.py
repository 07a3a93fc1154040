"""A tutor who never saw the form starts with no outline at all and announces a class, with JavaScript or without."""

from __future__ import annotations

from typing import Any

import pytest

from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import GroupStay, Hold
from studiodesk.classes.models import Course, Outline
from studiodesk.people.models import Member
from studiodesk.safety import actions as safety
from studiodesk.safety.models import SafetyNote
from studiodesk.stations.models import Process, Station

from .conftest import EARLIER, NOW, page_of
from .desk import Desk
from .learning import EVENING, evening_of, outlined
from .people import log_in


def booths_taken(codes: list[str]) -> None:
    """Friend has these booths on the evening that the tutor will ask for first."""
    friend = Member.objects.get(name="Friend")
    for note in SafetyNote.objects.all():
        safety.acknowledge(note=note, member=friend, now=NOW)
    for code in codes:
        bookings.book(
            member=friend,
            by=Member.objects.get(name="Staff"),
            station=Station.objects.get(code=code),
            process=Process.objects.get(code="rc"),
            starts=EVENING.starts,
            ends=EVENING.ends,
            now=NOW,
        )


#: Each database once, each way of asking once: what differs by both is in the shorter journeys of booking.
pytestmark = pytest.mark.parametrize(
    ("engine", "desk"),
    [("sqlite", True), ("postgres", False)],
    ids=["sqlite-with-javascript", "postgres-without-javascript"],
    indirect=True,
)


@pytest.fixture
def desk(request: pytest.FixtureRequest, site: Any, browser: Any) -> Any:
    page = page_of(browser, javascript=request.param)
    log_in(page, site, "tutor")
    yield Desk(page, site)
    assert page.faults == []


def put(desk: Desk, label: str, value: str) -> None:
    """Into the field of this label, as somebody finds it who reads the page."""
    field = desk.page.locator("main").get_by_label(label, exact=False).first
    if field.evaluate("one => one.tagName") == "SELECT":
        field.select_option(label=value)
    else:
        field.fill(value)


def test_from_no_outline_at_all_to_an_announced_class(desk: Desk) -> None:
    manager = Member.objects.get(name="Manager")
    need, _new = safety.set_sign_off_need(process=Process.objects.get(code="rc"), now=EARLIER, by=manager)
    for name in ("Friend", "Tutor"):
        safety.give_sign_off(member=Member.objects.get(name=name), process=need.process, now=EARLIER, by=manager)
    booths_taken(["E1", "E2"])

    desk.go("/")
    desk.page.get_by_role("navigation").get_by_role("link", name="What is on").click()
    desk.press("Outlines and dates", "link")
    desk.says("No outline yet", "Nothing has a date yet")
    desk.press("Write the first one", "link")

    # Two things wrong: more at least than at most, and a size of paper that nobody can read.
    put(desk, "What it is called", "First prints & more")
    put(desk, "What is taught", "From a negative to a print.\n\nGloves and aprons are here.")
    put(desk, "At most so many people", "8")
    put(desk, "At least so many people", "9")
    put(desk, "Stations, kind 1", "Enlarger booth")
    put(desk, "Process", "Black-and-white, RC")
    put(desk, "Places at its processor", "A place for each station")
    put(desk, "Paper 1, in mm", "big")
    put(desk, "Sheets of paper 1 a head", "4")
    put(desk, "Price (EUR)", "60")
    put(desk, "Price for members", "45.50")
    desk.page.get_by_role("group", name="It signs people off for").get_by_label("Black-and-white, RC").check()
    desk.press("Keep it")
    desk.says("At least so many people: no more than at most.", "Write both edges in mm, such as 203 x 254.")
    assert not Outline.objects.exists()
    shown = desk.page.locator("main form [name]")
    values = {one.get_attribute("name"): one.input_value() for one in shown.all()}
    assert (
        values["name"] == "First prints & more" and values["summary"].splitlines()[2] == "Gloves and aprons are here."
    )
    assert (values["kind_1"], values["places"], values["paper_1"], values["member_price"]) == (
        "enlarger booth", "each", "big", "45.50",
    )  # fmt: skip
    assert desk.page.get_by_role("group", name="It signs people off for").get_by_role("checkbox").is_checked()

    # Each complaint leads to its field.
    desk.page.locator(".problems a").first.click()
    assert desk.page.url.endswith("#id_heads_least")
    put(desk, "At least so many people", "2")
    put(desk, "Paper 1, in mm", "203 × 254")
    desk.press("Keep it")
    desk.says("Dates of First prints & more", "nothing is kept before you announce it")
    row = Outline.objects.get()
    assert [(one.kind, one.process.code if one.process else None) for one in row.needs.order_by("pk")] == [
        ("enlarger booth", None), ("", "rc"),
    ]  # fmt: skip
    assert row.signs_off.get() == need and (row.price_minor, row.member_price_minor) == (6000, 4550)

    # Whether it fits: a day that has passed, one on which booths are taken, one of those that are named.
    put(desk, "First day", "2026-11-24")
    put(desk, "Begins", "18:00")
    desk.press("Look whether it fits")
    desk.says("has passed")
    put(desk, "First day", "2026-12-09")
    desk.press("Look whether it fits")
    desk.says("Not all of it is free", "4 × enlarger booth needed, 3 are free", "Booth 1: Friend")
    assert desk.page.get_by_role("button", name="Announce").count() == 0 and not GroupStay.objects.exists()
    desk.press("Thursday 10 December 2026", "link")
    desk.says("All of it is free", "Thursday 10 December 2026, 18:00 to 21:00: free")
    desk.press("Announce it")
    assert "1 class is announced." in desk.page.locator("#said").inner_text()
    desk.says("First prints & more", "8 of 8 left; it takes 2 at least", "Tutor", "Nobody has signed up yet")

    course = Course.objects.get()
    assert course.tutor.name == "Tutor" and course.places.count() == 0
    kept = Hold.objects.filter(group=course.meetings.get().stay)
    stations = kept.filter(lane__resource__station__isnull=False).values_list("lane__resource", flat=True).distinct()
    assert stations.count() == 4
    desk.press("As everybody sees it", "link")
    desk.says("Gloves and aprons are here", "60.00 EUR, members 45.50 EUR", "8 of 8 left")


def test_a_tutor_who_teaches_elsewhere_is_refused_in_a_sentence_and_loses_nothing(desk: Desk) -> None:
    outline = outlined()
    evening_of(outline, heads_most=4)
    desk.go(f"/outlines/{outline.code}/dates/")
    put(desk, "First day", "2026-12-09")
    put(desk, "Begins", "18:30")
    put(desk, "At most so many people", "4")
    desk.press("Look whether it fits")
    desk.says("All of it is free")
    desk.press("Announce it")
    desk.says(
        "Tutor teaches “First prints” then, from Wednesday 9 December 18:00", "Choose another tutor or another time"
    )
    desk.says("All of it is free")  # the house has room, so it is the tutor alone that is in the way
    values = [desk.page.locator(f"main [name={name}]").first.input_value() for name in ("first_day", "begins")]
    assert values == ["2026-12-09", "18:30"] and Course.objects.count() == 1
    put(desk, "Tutor", "Not known yet")
    desk.press("Look whether it fits")
    desk.says("All of it is free")
