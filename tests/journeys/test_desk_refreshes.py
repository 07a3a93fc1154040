"""The desk stays open all evening: it changes by itself, leaves alone whoever reads it, and says when it cannot ask."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from studiodesk.bookings import actions as bookings
from studiodesk.chemistry import actions as chemistry
from studiodesk.chemistry.models import SheetSize
from studiodesk.people.models import Member
from studiodesk.stations.models import Processor, Station

from .conftest import page_of
from .people import log_in

pytestmark = pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
#: One interval of 20 s and what a slow machine needs.
BY_ITSELF_MS = 28_000
POLLED = re.compile(r"/desk/\?poll=")


def log_sheets(sheets: int = 5) -> None:
    """At the tablet, in another process for all that the browser knows."""
    chemistry.log_sheets(
        processor=Processor.objects.get(code="T-FB"),
        sheet=SheetSize.objects.get(code="406x508"),
        sheets=sheets,
        kind="print",
        who="walk-in",
        fed_at=timezone.now(),
        now=timezone.now(),
    )


def book_for_tonight() -> None:
    member = Member.objects.get(name="Member")
    bookings.book(
        member=member,
        station=Station.objects.filter(processes=None).first(),
        process=None,
        starts=datetime(2026, 11, 25, 18, 0, tzinfo=UTC),
        ends=datetime(2026, 11, 25, 19, 0, tzinfo=UTC),
        now=timezone.now() - timedelta(minutes=5),
        by=member,
    )


def polled(page: Any) -> Any:
    """The next answer to the page's own asking."""
    with page.expect_response(POLLED, timeout=BY_ITSELF_MS) as found:
        pass
    return found.value


def test_the_open_desk_changes_by_itself_keeps_focus_and_stands_still_when_paused(
    site: Any, browser: Any, engine: Any
) -> None:
    book_for_tonight()
    page = page_of(browser)
    log_in(page, site, "keyholder")
    page.goto(site.url("/desk/"))
    name = page.locator("#desk-now").get_by_role("link", name="Member", exact=True)
    name.focus()
    name.evaluate("link => { link.wasHere = true; }")
    # Nothing is new: the very same link is still there and has focus.
    assert polled(page).headers["hx-reswap"] == "none"
    page.wait_for_timeout(300)
    assert page.evaluate("document.activeElement.wasHere === true")
    # 5 × 0.206248 m² at 150 mL/m² is 154.7 mL: three measures of 50 mL.
    assert "Give 3 measures" not in page.locator("main").inner_text()
    log_sheets()
    page.get_by_text("Give 3 measures of 50 mL to").wait_for(timeout=BY_ITSELF_MS)
    assert page.evaluate("document.activeElement.textContent") == "Member"
    assert not page.evaluate("document.activeElement.wasHere === true")  # a new link in the old one's place
    assert "The desk has changed" in page.locator("#desk-said").text_content()
    # The page's own way to do it leads to the form with what is due.
    page.get_by_role("link", name="Pause").click()
    page.get_by_text("Paused.").wait_for()
    asked: list[str] = []
    # The page that the link led to may still be fetching its letters and icon: only questions to the desk count.
    page.on("request", lambda one: asked.append(one.url) if one.resource_type in {"xhr", "fetch", "document"} else None)
    log_sheets()
    page.wait_for_timeout(22_000)
    assert asked == [] and "Give 3 measures" in page.locator("main").inner_text()
    page.get_by_role("link", name="Go on refreshing").click()
    page.get_by_text("Give 6 measures of 50 mL to").wait_for()
    page.get_by_role("link", name=re.compile("^Given")).click()
    page.wait_for_url(re.compile("/baths/T-FB/.*/replenishment/"))
    assert page.faults == []


def test_a_desk_that_gets_no_answer_says_how_old_it_is_until_it_gets_one(site: Any, browser: Any, engine: Any) -> None:
    page = page_of(browser)
    log_in(page, site, "keyholder")
    page.goto(site.url("/desk/"))
    checked = page.locator(".checked-at").first.inner_text()
    page.route(POLLED, lambda route: route.abort())
    page.get_by_text(f"Not refreshed since {checked}; trying again.").wait_for(timeout=BY_ITSELF_MS)
    page.unroute(POLLED)
    page.get_by_text("Not refreshed since").wait_for(state="detached", timeout=BY_ITSELF_MS)
    assert page.locator("#warned").inner_text() == ""
