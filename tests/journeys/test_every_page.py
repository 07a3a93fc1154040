"""Every page made so far, as each role whose page differs: accessible, valid, one heading, nothing sideways, no faults.

With the real policy in force, so that also a page whose policy stops something is found: its console says so. What is
looked at stands in ``looking``; in which rounds, in ``rounds``.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from itertools import chain
from pathlib import Path
from typing import Any

import pytest
from django.urls import resolve

from studiodesk.accessibility import DARK, TABLET_WIDTHS, WET, WIDTHS
from tests import notrun
from tests.architecture.matrix import TABLE
from tests.statement import keeps

from .conftest import page_of
from .lived_in import lived_in
from .looking import look
from .no_pages import NO_PAGE
from .pages import TABLET, TALES
from .people import log_in

PICTURES = Path(__file__).resolve().parents[2] / "pictures"
#: Everything everywhere with ``make check-all``; else axe at the two ends, for time's sake.
ALL_VIEWS = "STUDIODESK_ALL_VIEWS" in os.environ
LIGHT = WIDTHS[::-1] if ALL_VIEWS else WIDTHS[-1:]
#: Keyholders and staff have the same pages but for a few buttons.
FOR_BOTH = {"/", "/desk/", "/door/", "/roll/", "/baths/", "/alerts/"}
on_one_engine = pytest.mark.parametrize("engine", ["sqlite"], indirect=True)


#: A pattern: only the pages whose address it is found in, for whoever mends one.
ONLY = os.environ.get("STUDIODESK_PAGES", "")


def paths_of(role: str) -> list[str]:
    if ONLY:
        return [path for path in TALES[role] if re.search(ONLY, path)]
    if role == "keyholder" and not ALL_VIEWS:
        return [path for path in TALES[role] if path in FOR_BOTH]
    return TALES[role]


@keeps("complete")
def test_every_address_that_shows_a_page_is_among_the_pages() -> None:
    """A page that nobody added here would be looked at by nobody."""
    plain = [re.sub(r"\{\w+\}", "1", path).split("?")[0] for path in chain(*TALES.values(), TABLET)]
    seen = {resolve(path).route for path in plain if path != "/no-such-page/"}
    shown = {route for route, row in TABLE.items() if row.get is not None}
    assert sorted(shown - seen - NO_PAGE.keys()) == [], "pages that are never looked at"
    assert sorted(NO_PAGE.keys() & seen) == [] and sorted(NO_PAGE.keys() - shown) == [], "reasons nobody needs"


def picture(page: Any, label: str, path: str) -> None:
    if "STUDIODESK_PICTURES" in os.environ:
        PICTURES.mkdir(exist_ok=True)
        name = re.sub(r"[^a-z0-9]+", "-", f"{label}{path}".lower()).strip("-")[:120]
        for width in (1366, 768, 360):
            page.set_viewport_size({"width": width, "height": 800})
            page.screenshot(path=PICTURES / f"{name}-{width}.png", full_page=True)


#: Each part runs on a worker of its own.
PARTS = {"who visits": ("stranger", "member", "tutor", "keyholder", "manager"), "staff": ("staff",)}


@keeps("axe", "targets", "tab", "zoom", "spacing", "motion", "spoken")
@on_one_engine
@pytest.mark.parametrize("part", PARTS)
def test_every_page_is_accessible(site: Any, browser: Any, part: str) -> None:
    places, wrong, walked = lived_in(), [], set()
    for role in PARTS[part]:
        page = page_of(browser, width=1366, height=800)
        if role != "stranger":
            log_in(page, site, role)
        for path in paths_of(role):
            page.set_viewport_size({"width": 1366, "height": 800})
            response = page.goto(site.url(path.format(**places)))
            assert response.status < 500, path
            # An error page is told by its status; what Chromium says of that in its console is no fault of the page.
            found = look(page, widths=LIGHT, dark=DARK, walks=path not in walked)
            wrong += [f"{role} {path} {fault}" for fault in found]
            walked.add(path)
            picture(page, role, path)
        page.context.close()
    assert not wrong, "\n".join(wrong)


@keeps("axe", "targets", "tab")
@on_one_engine
@pytest.mark.parametrize("light", ["dim-red", "dim-amber", "plain"])
def test_every_tablet_page_is_accessible_in_every_light(site: Any, browser: Any, light: str) -> None:
    lived_in()
    page = page_of(browser, width=1280, height=800)
    log_in(page, site, "keyholder")
    page.goto(site.url("/tablet/"))
    if light not in (page.locator("html").get_attribute("class") or ""):
        page.get_by_role("button", name=re.compile(light.replace("-", " "), re.I)).click()
        page.wait_for_load_state()
    assert light in (page.locator("html").get_attribute("class") or "")
    wrong = []
    for path in TABLET:
        page.set_viewport_size({"width": 1280, "height": 800})
        page.goto(site.url(path))
        found = look(page, widths=TABLET_WIDTHS[::-1], dark=(), walks=light == "dim-red", high=WET)
        wrong += [f"{light} {path} {fault}" for fault in found]
        picture(page, f"tablet-{light}", path)
    assert not wrong, "\n".join(wrong)


@keeps("html")
@on_one_engine
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
            name = f"{role}-{number:03}{re.sub('[^a-z0-9]+', '-', path.lower())[:80]}.html"
            (tmp_path / name).write_bytes(response.body())
        if role == "staff":
            # What a refresh answers is a piece of a page: in a page of its own it must be as sound.
            headers = {"HX-Request": "true"}
            piece = page.context.request.get(site.url("/desk/?poll=none"), headers=headers).text()
            assert "data-hx-swap-oob" in piece and "<html" not in piece
            head = '<!doctype html><html lang="en"><head><title>Piece</title></head>'
            bare = f"{head}<body><h1>Piece</h1>{piece}</body></html>"
            (tmp_path / "piece-desk.html").write_text(bare, encoding="utf-8")
        page.context.close()
    pages = sorted(str(path) for path in tmp_path.glob("*.html"))
    assert len(pages) > 50
    command = ["java", "-jar", jar, "--also-check-css", "--format", "json", *pages]
    checked = subprocess.run(command, capture_output=True, text=True, check=False)
    messages = json.loads(checked.stderr)["messages"]
    assert [f"{Path(m['url']).name}:{m.get('lastLine')} {m['message']}" for m in messages] == []
