"""A person's whole evening in a real browser, with JavaScript and without: from the booking to the replenishment."""

from __future__ import annotations

import re
from typing import Any

import pytest

from studiodesk.bookings.models import Booking, Hold
from studiodesk.chemistry.models import Alert, Feed

from .conftest import page_of
from .people import log_in

TWO_HOURS = "2 h"


def read_the_note(page: Any) -> None:
    """The gate: the page says why, the note is read, and the way leads back to what was asked."""
    page.get_by_role("link", name=re.compile("Read the safety note")).click()
    page.get_by_role("heading", level=1).wait_for()
    assert "safety data sheet" in page.locator("main").inner_text()
    page.get_by_role("button", name="I have read this").click()


def find(page: Any, site: Any, process: str, day: str) -> None:
    page.goto(site.url("/find/"))
    page.get_by_label("What is it?").select_option(label=process)
    page.get_by_label("From which day?").fill(day)
    page.get_by_label("For how long?").select_option(label=TWO_HOURS)
    page.get_by_role("button", name="Show free times").click()
    page.get_by_role("heading", name=re.compile("good times?")).wait_for()


@pytest.mark.parametrize("javascript", [True, False], ids=["with-javascript", "without-javascript"])
def test_book_acknowledge_feed_five_sheets_see_the_desk_change_and_cancel(
    site: Any, browser: Any, javascript: bool
) -> None:
    member, desk, tablet = (page_of(browser, javascript=javascript, width=w, height=800) for w in (360, 1366, 1280))
    log_in(member, site, "member")
    log_in(desk, site, "keyholder")

    # The member finds a time today for a fibre print; the safety note stands before it.
    find(member, site, "Black-and-white, fibre", "2026-11-25")
    member.locator("ol.plain a").first.click()
    assert member.get_by_role("button", name="Book", exact=True).count() == 0
    read_the_note(member)
    words = member.locator("main").inner_text()
    assert "light-tight bag" in words and "13:15" in words  # ready time: opening 13:00 and 15 minutes of warm-up
    member.get_by_role("button", name="Book", exact=True).click()
    member.wait_for_url(re.compile(r"/bookings/\d+/$"))
    booking = Booking.objects.get()
    assert (booking.process.code, booking.processor.code) == ("fb", "T-FB")
    assert Hold.objects.filter(booking=booking).count() == 2

    # The desk sees it coming, signs the member in, and nothing is due yet.
    desk.goto(site.url("/desk/"))
    assert "Member" in desk.locator("main").inner_text()
    assert "measures of" not in desk.locator("main").inner_text()

    # Staff enrol the tablet; at the dry end somebody taps in five sheets of the largest size.
    enrol(tablet, site, browser)
    tablet.goto(site.url("/tablet/processor/T-FB/"))
    tablet.get_by_text("16×20 in").click()
    for _ in range(4):
        tablet.get_by_role("button", name=re.compile(r"\+\s*1")).click()
    tablet.locator("label.tile", has_text="Member").first.click()
    tablet.get_by_role("button", name=re.compile("Log sheets")).last.click()
    tablet.get_by_text(re.compile("Logged 5 ")).wait_for()
    if javascript:  # it says so as soon as it keeps the log; then it sends it, and the page comes anew
        tablet.get_by_text("All logs sent").wait_for()
        tablet.wait_for_url(re.compile("logged=1"))
    feed = Feed.objects.get()
    assert (feed.sheets, feed.sheet.code, feed.booking_id) == (5, "406x508", booking.pk)

    # 5 × 0.206248 m² at 150 mL/m² is 154.7 mL: three measures of 50 mL.
    desk.goto(site.url("/desk/"))
    due = desk.locator("main").inner_text()
    assert "Give 3 measures of 50 mL to" in due
    assert Alert.objects.filter(kind="replenishment due", cleared_at=None).count() == 1
    give(desk)
    desk.goto(site.url("/desk/"))
    assert "measures of" not in desk.locator("main").inner_text()
    assert not Alert.objects.filter(cleared_at=None).exists()

    # Another day, another process, another note; that one is given back.
    find(member, site, "Colour, RA-4", "2026-11-27")
    member.locator("ol.plain a").first.click()
    read_the_note(member)
    member.get_by_role("button", name="Book", exact=True).click()
    member.wait_for_url(re.compile(r"/bookings/\d+/$"))
    member.goto(site.url("/bookings/"))
    later = Booking.objects.get(process__code="ra4")
    member.goto(site.url(f"/bookings/{later.pk}/"))
    member.get_by_role("button", name=re.compile("Cancel")).first.click()
    member.get_by_text(re.compile("cancelled", re.I)).first.wait_for()
    later.refresh_from_db()
    assert later.cancelled_at is not None and not Hold.objects.filter(booking=later).exists()
    assert [*member.faults, *desk.faults, *tablet.faults] == []


def enrol(tablet: Any, site: Any, browser: Any) -> None:
    staff = page_of(browser, javascript=False)
    log_in(staff, site, "staff")
    staff.goto(site.url("/tablets/"))
    staff.get_by_label(re.compile("hangs|Name|name")).first.fill("Dry end")
    staff.get_by_role("button", name="Make a code").click()
    code = staff.locator("dd.figure").inner_text()
    tablet.goto(site.url("/tablet/enrol/"))
    tablet.get_by_label(re.compile("[Cc]ode")).fill(code)
    tablet.get_by_role("button", name="This is the tablet").click()
    tablet.wait_for_load_state()
    staff.context.close()


def give(desk: Any) -> None:
    """From the line on the desk to the form of the bath, three measures, done."""
    desk.get_by_role("link", name=re.compile("Stop bath")).first.click()
    if not re.search("replenishment", desk.url):
        desk.get_by_role("link", name="Replenishment given", exact=True).click()
    amount = desk.get_by_label(re.compile("mL|[Mm]easures|[Aa]mount|How much")).first
    if not amount.input_value():
        amount.fill("150")
    desk.locator("main form button.act").click()
    desk.wait_for_load_state()


def test_two_people_press_book_at_the_same_instant_and_one_is_shown_what_is_free_near_it(
    site: Any, browser: Any
) -> None:
    pages = []
    for who in ("member", "friend"):
        page = page_of(browser)
        log_in(page, site, who)
        page.goto(site.url("/safety/P-RC/"))
        page.get_by_role("button", name="I have read this").click()
        page.goto(site.url("/book/?station=E1&process=rc&day=2026-11-26&begins=18:00&until=20:00"))
        pages.append(page)
    # Both pages stand ready with the button; neither knows of the other.
    answers = press_together(pages, site)
    assert sorted(answers) == [200, 409]
    loser = pages[answers.index(409)]
    words = loser.locator("main").inner_text()
    assert loser.get_by_role("heading", level=1).inner_text() == "Taken"
    assert "Booth 1" in words and "18:00 to 20:00" in words
    assert loser.locator("main a[href*='/book/']").count() >= 2
    assert Booking.objects.filter(cancelled_at=None).count() == 1
    # One tap further the loser has another time.
    loser.locator("main a[href*='/book/']").first.click()
    loser.get_by_role("button", name="Book", exact=True).click()
    loser.wait_for_url(re.compile(r"/bookings/\d+/$"))
    assert Booking.objects.filter(cancelled_at=None).count() == 2


def press_together(pages: list[Any], site: Any) -> list[int]:
    """Both buttons are pressed by the pages' own clocks at one agreed millisecond; the status each person gets."""
    statuses: dict[int, int] = {}

    def note(number: int) -> Any:
        return lambda response: response.request.method == "POST" and statuses.__setitem__(number, response.status)

    for number, page in enumerate(pages):
        page.on("response", note(number))
    moment = pages[0].evaluate("Date.now() + 700")
    for page in pages:
        button = page.get_by_role("button", name="Book", exact=True)
        button.evaluate("(button, moment) => { setTimeout(() => button.click(), moment - Date.now()) }", moment)
    for page in pages:
        page.locator("h1:not(:text-is('Book Booth 1'))").wait_for()
    return [200 if statuses[number] in (200, 302, 303) else statuses[number] for number in range(len(pages))]
