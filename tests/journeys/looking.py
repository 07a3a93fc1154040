"""What every page has to keep, asked of a real browser: several things of one page that is loaded once.

The window is made narrow, dark or slow of movement while the page stands there: nothing on it asks its width but the
stylesheet.  400 % of 1280 px are 320 px, 200 % of 1366 px are 683 (WCAG 2.2, 1.4.10 and 1.4.4).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import axe_playwright_python

from studiodesk.accessibility import HIGH, LEAST

AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8")
LOOKING = (Path(__file__).parent / "looking.js").read_text(encoding="utf-8")
#: axe-core's rules are those of WCAG 2.0, 2.1 and 2.2 at levels A and AA (W3C); the tags are named because target size
#: is off without them.
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
#: Words inside a drawing, which axe never judges: tests/look/test_contrast.py computes them from the tokens of ink and
#: plate (reviewed: text of the fan, each on its plate or below the plot).
DRAWN = re.compile(r"<text[ >]")
ZOOMED = {"width": 320, "height": 256}  # 1280 × 1024 at 400 %
BESIDE = {"width": 768, "height": 600}  # the tablet beside a processor
HALVED = {"width": 683, "height": 384}  # 1366 × 768 at 200 %


def stand(page: Any) -> Iterator[str]:
    """What does not depend on width or colour."""
    yield from page.faults
    page.faults.clear()
    page.evaluate(AXE + LOOKING)
    if (headings := page.locator("h1").count()) != 1:
        yield f"{headings} h1"
    yield from page.evaluate("looking.regions()")


def axe(page: Any) -> Iterator[str]:
    found = page.evaluate("tags => axe.run({runOnly: {type: 'tag', values: tags}})", TAGS)
    for violation in found["violations"]:
        nodes = "; ".join(node["html"][:120] for node in violation["nodes"][:3])
        yield f"axe {violation['id']}: {nodes}"
    for incomplete in found["incomplete"]:
        for node in incomplete["nodes"] if incomplete["id"] == "color-contrast" else []:
            if not DRAWN.match(node["html"]):
                yield f"axe could not tell the contrast: {node['html'][:120]}"


def targets(page: Any, high: int = HIGH) -> Iterator[str]:
    yield from (f"target {one}" for one in page.evaluate("([a, b]) => looking.targets(a, b)", [LEAST, high]))


def room(page: Any) -> Iterator[str]:
    """Nothing sideways; with wide spacing neither, and no word cut off."""
    for spaced in (False, True):
        page.evaluate("on => looking.spaced(on)", spaced)
        yield from (
            f"{'spaced' if spaced else 'as it is'}: {one}"
            for one in page.evaluate("[...looking.overflow(), ...looking.clipped()]")
        )
    page.evaluate("looking.spaced(false)")


def walk(page: Any, window: dict[str, int]) -> Iterator[str]:
    """Tab after tab from top to end: each stop is seen, ringed and in order; none is left out, none holds fast."""
    page.set_viewport_size(window)
    most = 8 * page.evaluate("looking.start()") + 20  # a date has a stop for each of its parts
    for _ in range(most):
        page.keyboard.press("Tab")
        found = page.evaluate("looking.step()")
        yield from found["faults"]
        if found["over"]:
            yield from page.evaluate("looking.missed()")
            return
    yield "the focus never comes to the end"


def look(page: Any, *, widths: Sequence[int], dark: Sequence[int], walks: bool, high: int = HIGH) -> Iterator[str]:
    """Everything of one loaded page; ``widths`` and ``dark`` are where axe looks in light and in dark."""
    yield from stand(page)
    for width in widths:
        page.set_viewport_size({"width": width, "height": 800})
        yield from (f"at {width}: {one}" for one in (*axe(page), *room(page), *targets(page, high)))
    page.set_viewport_size(HALVED)
    yield from (f"at 200 %: {one}" for one in room(page))
    for width in dark:
        page.set_viewport_size({"width": width, "height": 800})
        page.emulate_media(color_scheme="dark")
        yield from (f"dark {width}: {one}" for one in (*axe(page), *room(page), *targets(page, high)))
    page.emulate_media(color_scheme="light", reduced_motion="reduce")
    yield from page.evaluate("looking.moving()")
    if walks:
        yield from (f"walk: {one}" for one in walk(page, ZOOMED if high == HIGH else BESIDE))
    page.emulate_media(reduced_motion="no-preference")
