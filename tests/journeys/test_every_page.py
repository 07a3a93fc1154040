"""Every page made so far, as each role whose page differs: accessible, valid, one heading, nothing sideways, no faults.

axe-core's rules are those of WCAG 2.0, 2.1 and 2.2 at levels A and AA (W3C); the tags are named because target size
is off without them.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import axe_playwright_python
import pytest
from django.utils import timezone

from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Offer
from studiodesk.bookings.rules.needs import Need
from studiodesk.chemistry import actions as chemistry
from studiodesk.chemistry.models import Alert, Bath, SheetSize
from studiodesk.people import actions as doors
from studiodesk.people.models import Member
from studiodesk.planning import actions as planning
from studiodesk.safety import actions as safety
from studiodesk.safety.models import SafetyNote
from studiodesk.stations.models import Process, Processor, Station
from studiodesk.timekeeping import Span
from tests import notrun

from .conftest import page_of
from .opening import at_work, kept_apart, looked_after, opened, stocked
from .pages import STAFF_ALONE, TABLET, TALES
from .people import log_in
from .teaching import taught

AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
PICTURES = Path(__file__).resolve().parents[2] / "pictures"

#: Words inside a drawing, which axe never judges: tests/look/test_contrast.py computes them from the tokens of ink and
#: plate (reviewed: text of the fan, each on its plate or below the plot).
DRAWN = re.compile(r"<text[ >]")


def lived_in() -> dict[str, Any]:
    """Bookings of every standing, sheets through, one bath that wants something, one that is spent, all foretold."""
    now = timezone.now()
    at = datetime(2026, 11, 25, 13, 0, tzinfo=UTC)
    people = {person.name.lower(): person for person in Member.objects.all()}
    for note in SafetyNote.objects.select_related("processor"):
        for person in people.values():
            if (person.name, note.processor.code) != ("Member", "P-CO"):
                safety.acknowledge(note=note, member=person, now=now)

    def book(who: str, station: str, process: str, hours: tuple[float, float]) -> Any:
        return bookings.book(
            member=people[who],
            by=people[who],
            station=Station.objects.get(code=station),
            process=Process.objects.get(code=process),
            starts=at + timedelta(hours=hours[0]),
            ends=at + timedelta(hours=hours[1]),
            now=at - timedelta(days=2),
        )

    here = book("friend", "E5", "fb", (-0.75, 2))
    bookings.arrive(booking=here, now=now, by=people["keyholder"])
    stay = book("member", "E4", "rc", (-0.5, 0.5))
    bookings.arrive(booking=stay, now=at - timedelta(minutes=30), by=people["member"])
    bookings.leave(booking=stay, now=at - timedelta(minutes=5), by=people["member"])
    bookings.come_in(kind="walk-in", name="Wout", heads=2, phone="06 1", now=at, by=people["keyholder"])
    book("tutor", "E2", "rc", (-0.5, 3))
    mine = book("member", "E1", "rc", (4, 7))
    gone = book("member", "E1", "rc", (28, 30))
    bookings.cancel(booking=gone, now=now, by=people["member"])
    for processor, sheets in (("T-FB", 10), ("P-CO", 24), ("P-RC", 30)):
        chemistry.log_sheets(
            processor=Processor.objects.get(code=processor),
            sheet=SheetSize.objects.get(code="305x406"),
            sheets=sheets * 2,
            kind="print",
            who="walk-in",
            fed_at=now,
            now=now,
            by=people["keyholder"],
        )
    chemistry.record_bath_entry(
        bath=Bath.objects.get(processor__code="P-RC", code="fix"), event="refill", at=now, now=now, by=people["staff"]
    )
    for prepare in (at_work, looked_after, stocked, kept_apart):
        prepare(people, now)
    link, _secret = bookings.make_calendar_link(member=people["member"], now=now, by=people["member"])
    planning.keep_forecasts(now=now, by=people["staff"])
    return {
        "booking": mine.pk,
        "cancelled": gone.pk,
        "calendar": link.pk,
        "stay": stay.pk,
        "alert": Alert.objects.filter(cleared_at=None).earliest("pk").pk,
        **opened(people, now),
        **joined(people, now),
        **broken(people, now),
        **waited_for(people, now),
        **taught(people, now),
    }


def waited_for(people: dict[str, Member], now: datetime) -> dict[str, int]:
    """What the friend gave back is kept for the member; both wait for more."""
    starts = datetime(2026, 11, 26, 14, tzinfo=UTC)
    taken = bookings.book(
        member=people["friend"],
        by=people["friend"],
        station=Station.objects.get(code="S1"),
        process=None,
        starts=starts,
        ends=starts + timedelta(hours=2),
        now=now,
    )
    for who, day, length in (("member", 26, 120), ("friend", 26, 60), ("member", 28, 90)):
        bookings.wait(
            member=people[who],
            need=Need(kind="scanning station", length=length, weekdays=(3, 5)),
            first_day=date(2026, 11, day),
            last_day=date(2026, 11, day),
            not_before=900 if length == 120 else 1080,
            now=now,
            by=people[who],
        )
    bookings.cancel(booking=taken, now=now, by=people["friend"])
    return {"kept": Offer.objects.get(booking__member=people["member"]).booking_id}


def broken(people: dict[str, Member], now: datetime) -> dict[str, int]:
    """A fault that the member reported, and a booth out of service over two bookings of tomorrow."""
    booth = Station.objects.get(code="E3")
    fault = bookings.report_fault(resource=booth.resource, kind="fumes", now=now, by=people["member"], more="sharp")
    starts = datetime(2026, 11, 26, 14, tzinfo=UTC)
    for who, hours in (("friend", 0), ("tutor", 3)):
        bookings.book(
            member=people[who],
            by=people[who],
            station=booth,
            process=Process.objects.get(code="rc"),
            starts=starts + timedelta(hours=hours),
            ends=starts + timedelta(hours=hours + 2),
            now=now,
        )
    made = bookings.shut(
        things=[booth],
        span=Span(starts, starts + timedelta(hours=6)),
        reason="lamp",
        cause="fault",
        now=now,
        by=people["keyholder"],
    )
    return {"fault": fault.pk, "outage": made.outage.pk}


def joined(people: dict[str, Member], now: datetime) -> dict[str, int]:
    """Memberships that run, are to come and run out; rules of the house; sign-offs; somebody to call."""
    manager, member, tutor, today = people["manager"], people["member"], people["tutor"], now.date()
    month = doors.make_plan(code="month", name="Monthly, every day", now=now, by=manager)
    doors.make_plan(code="day", name="Day pass", is_day_pass=True, now=now, by=manager)
    mine = [
        doors.give_membership(member=member, plan=month, first_day=first, last_day=last, now=now, by=manager)
        for first, last in (
            (today - timedelta(days=60), today + timedelta(days=20)),
            (today + timedelta(days=40), None),
        )
    ]
    for code, value, plan in (("month_hours", 12, None), ("month_hours", 30, month), ("peak_days", 127, None)):
        for days in (0, 40):
            day = today + timedelta(days=days)
            number = value - bool(days)
            bookings.set_house_rule(code=code, plan=plan, value=number, in_force_from=day, now=now, by=manager)
    rc = Process.objects.get(code="rc")
    safety.give_sign_off(member=member, process=rc, now=now, by=tutor)
    safety.set_sign_off_need(kind="shooting bay", now=now, by=manager)
    safety.set_sign_off_need(process=rc, lasts_days=365, now=now, by=manager)
    for person in people.values():  # so that the pages of booking show what they show without a need
        given = safety.give_sign_off(member=person, process=rc, now=now, by=manager if person == tutor else tutor)
    facts = {"phone": "+31 6 1234567", "emergency_name": "Noor de Wit", "emergency_phone": "020 123 45 67"}
    doors.set_person_facts(person=member, **facts, now=now, by=member)
    return {"membership": mine[0].pk, "sign_off": given.pk}


def faults_of(page: Any) -> list[str]:
    """Everything that is wrong with the page that is open now."""
    wrong = [f"{fault}" for fault in page.faults]
    page.faults.clear()
    if (headings := page.locator("h1").count()) != 1:
        wrong.append(f"{headings} h1")
    wide = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
    if wide[0] > wide[1]:
        wrong.append(f"scrolls sideways: {wide[0]} in {wide[1]} px")
    page.evaluate(AXE)
    found = page.evaluate("tags => axe.run({runOnly: {type: 'tag', values: tags}})", TAGS)
    for violation in found["violations"]:
        nodes = "; ".join(node["html"][:120] for node in violation["nodes"][:3])
        wrong.append(f"axe {violation['id']}: {nodes}")
    for incomplete in found["incomplete"]:
        for node in incomplete["nodes"] if incomplete["id"] == "color-contrast" else []:
            if not DRAWN.match(node["html"]):
                wrong.append(f"axe could not tell the contrast: {node['html'][:120]}")
    return wrong


def visit(page: Any, site: Any, paths: list[str], places: dict[str, Any], label: str, width: int) -> list[str]:
    wrong = []
    for path in paths:
        response = page.goto(site.url(path.format(**places)))
        assert response.status < 500, path
        # An error page is told by its status; what Chromium says of that in its console is no fault of the page.
        wrong += [f"{label} {width} {path}: {fault}" for fault in faults_of(page)]
        if "STUDIODESK_PICTURES" in os.environ:
            PICTURES.mkdir(exist_ok=True)
            name = re.sub(r"[^a-z0-9]+", "-", f"{label}{path}".lower()).strip("-")[:120]
            page.screenshot(path=PICTURES / f"{name}-{width}.png", full_page=True)
    return wrong


#: At every width that matters with ``make check-all``; else at the two ends, for time's sake.
VIEWS = [(1366, "light"), (320, "dark")]
#: Keyholders and staff have the same pages but for a few buttons: each is looked at at one of the ends.
LEFT_OUT = {1366: "keyholder", 320: "staff"}
FOR_BOTH = {"/", "/desk/", "/door/", "/roll/", "/baths/", "/alerts/"}
ALL_VIEWS = "STUDIODESK_ALL_VIEWS" in os.environ
if ALL_VIEWS:
    VIEWS += [(360, "light"), (768, "light")]


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
@pytest.mark.parametrize("width,scheme", VIEWS)
def test_every_page_is_accessible(site: Any, browser: Any, width: int, scheme: str) -> None:
    """With the real policy in force, so that also a page whose policy stops something is found: its console says so."""
    places = lived_in()
    wrong = []
    for role, paths in TALES.items():
        if not ALL_VIEWS and role == LEFT_OUT.get(width):
            paths = [path for path in paths if path in FOR_BOTH or path in STAFF_ALONE]
        page = page_of(browser, width=width, height=800, color_scheme=scheme)
        if role != "stranger":
            log_in(page, site, role)
        wrong += visit(page, site, paths, places, role, width)
        page.context.close()
    assert wrong == []


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
@pytest.mark.parametrize("width", [768, 1280])
@pytest.mark.parametrize("light", ["dim-red", "dim-amber", "plain"])
def test_every_tablet_page_is_accessible_in_every_light(site: Any, browser: Any, width: int, light: str) -> None:
    lived_in()
    page = page_of(browser, width=width, height=800)
    log_in(page, site, "keyholder")
    page.goto(site.url("/tablet/"))
    if light not in (page.locator("html").get_attribute("class") or ""):
        page.get_by_role("button", name=re.compile(light.replace("-", " "), re.I)).click()
        page.wait_for_load_state()
    assert light in (page.locator("html").get_attribute("class") or "")
    assert visit(page, site, TABLET, {}, f"tablet-{light}", width) == []


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
def test_every_page_is_valid_html(site: Any, browser: Any, tmp_path: Path) -> None:
    """The Nu HTML checker (W3C), which is where the page's grammar is defined in practice."""
    jar = os.environ.get("STUDIODESK_VNU", "")
    if not (jar and Path(jar).exists() and shutil.which("java")):
        notrun.missing("checker", "STUDIODESK_VNU names no vnu.jar, or there is no Java")
    places = lived_in()
    for role, paths in TALES.items():
        page = page_of(browser, javascript=False)
        if role != "stranger":
            log_in(page, site, role)
        for number, path in enumerate([*paths, *(TABLET if role == "keyholder" else [])]):
            response = page.context.request.get(site.url(path.format(**places)))
            name = f"{role}-{number:02}{re.sub('[^a-z0-9]+', '-', path.lower())[:80]}.html"
            (tmp_path / name).write_bytes(response.body())
        page.context.close()
    pages = sorted(str(path) for path in tmp_path.glob("*.html"))
    assert len(pages) > 50
    command = ["java", "-jar", jar, "--also-check-css", "--format", "json", *pages]
    checked = subprocess.run(command, capture_output=True, text=True, check=False)
    messages = json.loads(checked.stderr)["messages"]
    assert [f"{Path(m['url']).name}:{m.get('lastLine')} {m['message']}" for m in messages] == []
