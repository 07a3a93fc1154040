"""The roster of eight on paper: A4 and Letter, one page, names and stations, no controls, no secrets."""

from __future__ import annotations

from typing import Any

import pytest

from studiodesk.classes import actions
from studiodesk.people.models import Member

from .conftest import NOW, page_of
from .learning import evening_of, members, outlined
from .people import log_in
from .test_on_paper import MARGIN_MM, MM_PER_IN, PAPERS, PX_PER_IN, pages_of

NAMES = [f"Wilhelmina{number} van der Oudermeulen-Achterberg" for number in range(5)]


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
@pytest.mark.parametrize("javascript", [True, False], ids=["with-javascript", "without-javascript"])
def test_the_roster_of_eight_fits_on_one_page_without_controls(site: Any, browser: Any, javascript: bool) -> None:
    outline = outlined()
    course, later = evening_of(outline), evening_of(outline, days=7)
    tutor = Member.objects.get(name="Tutor")
    for number, person in enumerate(members(NAMES)):
        heads = 2 if number < 3 else 1
        place = actions.sign_up(course=later, heads=heads, member=person, now=NOW, by=person)
        actions.say_need(place=place, words="Allergic to metol", now=NOW)
    actions.leave_note(meeting=course.meetings.get(), notes="The lamp of booth 2 flickers.", now=NOW, by=tutor)
    actions.share_out_stations(meeting=later.meetings.get(), now=NOW, by=tutor)
    page = page_of(browser, javascript=javascript)
    log_in(page, site, "tutor")
    page.goto(site.url(f"/classes/{later.reference}/roster/"))
    assert not page.locator(".on-paper").is_visible() and page.get_by_text("Allergic to metol").first.is_visible()
    page.emulate_media(media="print")
    for paper, points in PAPERS.items():
        wide = int((points[0] / 72 - 2 * MARGIN_MM / MM_PER_IN) * PX_PER_IN)
        page.set_viewport_size({"width": wide, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= wide, paper
        words = page.locator("body").inner_text()
        assert "metol" not in words and "The lamp of booth 2 flickers." in words
        rows = page.locator(".on-paper tbody tr").all_inner_texts()
        assert len(rows) == 8 and all("Booth" in row for row in rows), rows
        assert all(sum(name in row for row in rows) == (2 if number < 3 else 1) for number, name in enumerate(NAMES))
        assert sum(f"with {NAMES[0]}" in row for row in rows) == 1
        for control in ("button", "input", "select", "textarea", "nav", "main a", "form"):
            assert not any(one.is_visible() for one in page.locator(control).all()), control
        pdf = page.pdf(format=paper, print_background=False, prefer_css_page_size=False)
        pages = pages_of(pdf)
        # Chromium rounds A4 to hundredths of an inch.
        assert len(pages) == 1 and all(abs(a - b) <= 1 for a, b in zip(pages[0], points, strict=True)), (paper, pages)
