"""The door sheet and the sign on paper: A4 and Letter, without backgrounds, one page for ten bookings."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest

from studiodesk.bookings import actions
from tests.door.world import at, rule

from .conftest import page_of
from .people import log_in

#: ISO 216 (A4: 210 × 297 mm) and ANSI/ASME Y14.1 (Letter: 8.5 × 11 in), in points of 1/72 in.
PAPERS = {"A4": (595, 842), "Letter": (612, 792)}
MM_PER_IN, PX_PER_IN, MARGIN_MM = 25.4, 96, 12
GUIDES = ["/help/first-evening/", "/help/day/", "/help/mixing/", "/help/bath-change/", "/help/bath-change/P-CO/"]


def ten_bookings(site):
    """Ten stays of tomorrow with guests, by people with long names and somebody to call, one of them under age."""
    from django.utils import timezone

    from studiodesk.people import actions as doors
    from studiodesk.people.models import Member
    from studiodesk.safety import actions as safety
    from studiodesk.safety.models import SafetyNote
    from studiodesk.stations.models import Process, Station

    now, starts = timezone.now(), at(14, day=26)
    rule("guests", 3)
    staff = Member.objects.get(name="Staff")
    places = [(station, hour) for hour in (0, 3) for station in ("E1", "E2", "E3", "E4", "E5")]
    for number, (station, hour) in enumerate(places):
        person = doors.make_person(
            number=f"L{number}",
            name=f"Wilhelmina van der Oudermeulen {number}",
            email=f"l{number}@example.org",
            joined_on=date(2026, 1, 1),
            now=now,
            invite=False,
        )
        for note in SafetyNote.objects.all():
            safety.acknowledge(note=note, member=person, now=now)
        facts = {"phone": "06 1", "emergency_name": "Bartholomeus Oudermeulen", "emergency_phone": "+31 20 123 45 67"}
        doors.set_person_facts(person=person, **facts, now=now, by=staff)
        actions.book(
            member=person,
            station=Station.objects.get(code=station),
            process=Process.objects.get(code="rc" if number % 5 < 4 else "fb"),
            starts=starts + timedelta(hours=hour),
            ends=starts + timedelta(hours=hour + 2.5),
            guests=1 if number < 3 else 0,
            now=now,
            by=staff,
        )


def pages_of(pdf: bytes) -> list[tuple[int, int]]:
    """The size of each page in points, read from the file itself (ISO 32000: a page object has a MediaBox)."""
    boxes = re.findall(rb"/Type /Page\b.*?/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", pdf, re.DOTALL)
    return [(round(float(wide)), round(float(high))) for wide, high in boxes]


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
def test_ten_bookings_and_the_sign_fit_on_one_sheet_of_either_paper(site, browser, tmp_path):
    ten_bookings(site)
    page = page_of(browser)
    log_in(page, site, "staff")
    for path in ("/door-sheet/2026-11-26/", "/signs/print/?sign=front-door"):
        for paper, points in PAPERS.items():
            # Laid out as wide as the paper is between its margins, nothing may stand out of it.
            wide = int((points[0] / 72 - 2 * MARGIN_MM / MM_PER_IN) * PX_PER_IN)
            page.set_viewport_size({"width": wide, "height": 900})
            page.emulate_media(media="print")
            page.goto(site.url(path))
            if "sheet" in path:
                assert page.locator("tbody tr").count() == 10
            assert page.evaluate("document.documentElement.scrollWidth") <= wide, (path, paper)
            cut = page.evaluate(
                "[...document.querySelectorAll('main *')].filter(e => e.getBoundingClientRect().right > innerWidth + 1"
                " && !e.closest('.visually-hidden')).map(e => e.tagName)"
            )
            assert cut == [], (path, paper)
            pdf = page.pdf(format=paper, print_background=False, prefer_css_page_size=False)
            pages = pages_of(pdf)
            # Chromium rounds A4 to hundredths of an inch.
            assert len(pages) == 1 and all(abs(a - b) <= 1 for a, b in zip(pages[0], points, strict=True)), (
                path,
                paper,
            )
            (tmp_path / f"{path.strip('/').partition('?')[0].replace('/', '-')}-{paper}.pdf").write_bytes(pdf)


def test_a_second_page_would_be_counted():
    one = b"<< /Type /Page\n/Parent 1 0 R\n/MediaBox [0 0 594.95996 841.91998] >>"
    assert pages_of(one) == [PAPERS["A4"]] and len(pages_of(one + b"/Type /Pages" + one)) == 2


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
def test_of_a_mix_only_its_label_is_printed(site, browser):
    from django.utils import timezone

    from tests.chemistry.shelf import mixed, shelf

    mix = mixed(shelf(timezone.now()), timezone.now(), 500)
    page = page_of(browser)
    log_in(page, site, "keyholder")
    page.goto(site.url(f"/mixing/mix/{mix.number}/"))
    assert page.get_by_role("heading", name="What went into it").is_visible()
    page.emulate_media(media="print")
    assert (
        page.locator(".bottle-label").is_visible() and page.locator(".bottle-label").get_by_text("Use by").is_visible()
    )
    for gone in ("h2", ".top", ".foot", "table", "form"):
        assert not page.locator(gone).first.is_visible(), gone
    assert len(pages_of(page.pdf(format="A4"))) == 1


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
def test_as_many_sheets_come_out_as_signs_were_ticked_on_either_paper(site, browser, tmp_path):
    from django.utils import timezone

    from studiodesk.chemistry import actions as chemistry
    from studiodesk.chemistry.models import Bath
    from studiodesk.stations import actions as house
    from studiodesk.units import PL_PER_L

    now, fix = timezone.now(), Bath.objects.get(processor__code="P-RC", code="fix")
    conditions = "Only from these baths.\nNever with developer.\nClosed when nobody pours."
    stream = chemistry.keep_stream(
        code="fix", name="Spent fixer", bears_silver=True, conditions=conditions, baths=[fix], now=now
    )
    chemistry.keep_waste_container(code="W-1", name="Drum", capacity_pl=PL_PER_L, place="", stream=stream, now=now)
    for name in ("Run the eyewash for a minute", "Look through the spill kit", "Look at the extinguishers"):
        house.keep_job(code=name[-9:], name=name, occasion="every so many days", every_days=7, now=now)
    page = page_of(browser)
    log_in(page, site, "staff")
    page.goto(site.url("/signs/"))
    ticks = page.locator("input[name=sign]")
    count = ticks.count()
    assert count >= 15
    for number in range(count):
        ticks.nth(number).check()
    page.get_by_role("button", name="Show the signs").click()
    page.wait_for_load_state("load")  # with its style: the sections stand there before it
    assert page.locator(".poster").count() == count
    page.emulate_media(media="print")
    for gone in (".top", ".foot", ".ruler", "h1"):
        assert not page.locator(gone).first.is_visible(), gone
    for paper, points in PAPERS.items():
        wide = int((points[0] / 72 - 2 * MARGIN_MM / MM_PER_IN) * PX_PER_IN)
        page.set_viewport_size({"width": wide, "height": 900})
        assert page.evaluate("document.documentElement.scrollWidth") <= wide, paper
        pdf = page.pdf(format=paper, print_background=False, prefer_css_page_size=False)
        (tmp_path / f"signs-{paper}.pdf").write_bytes(pdf)
        assert len(pages_of(pdf)) == count, paper


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
def test_the_guides_print_without_anything_standing_out_of_the_paper(site, browser):
    page = page_of(browser)
    log_in(page, site, "keyholder")
    for path in (
        "/help/first-evening/",
        "/help/day/",
        "/help/mixing/",
        "/help/bath-change/",
        "/help/bath-change/P-CO/",
    ):
        for paper, points in PAPERS.items():
            wide = int((points[0] / 72 - 2 * MARGIN_MM / MM_PER_IN) * PX_PER_IN)
            page.set_viewport_size({"width": wide, "height": 900})
            page.emulate_media(media="print")
            page.goto(site.url(path))
            assert page.evaluate("document.documentElement.scrollWidth") <= wide, (path, paper)
            assert 1 <= len(pages_of(page.pdf(format=paper, print_background=False))) <= 4, (path, paper)
            assert not page.locator("nav").first.is_visible() and page.locator("h1").is_visible()
