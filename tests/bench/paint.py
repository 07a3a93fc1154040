"""When a slowed phone has painted a page, and how far what stands there jumps: Largest Contentful Paint and Cumulative
Layout Shift, as the browser itself reports them (W3C, Largest Contentful Paint and Layout Instability).

The phone: 360 × 740 px, a line of 1.6 Mbit/s with 150 ms there and back, a processor four times as slow as this one: a
usual profile of a slow fourth-generation line (common practice).  Nothing is in its store before the first page.
"""

from __future__ import annotations

import os
import shutil
import tempfile
import threading
from pathlib import Path
from typing import Any

import time_machine

from .table import say
from .world import NOW, fill, furnished

LCP_BAR_S, CLS_BAR = 2.5, 0.05
HOLDS, MEMBERS = 10_000, 500
LINE = {"offline": False, "latency": 150, "downloadThroughput": 1_600_000 / 8, "uploadThroughput": 750_000 / 8}
SLOWER = 4
#: Kept from the first moment of a page; what is asked later is told of what was before (``buffered``).
WATCH = """
window.seen = {lcp: 0, cls: 0};
new PerformanceObserver(list => { for (const one of list.getEntries()) window.seen.lcp = one.startTime; })
  .observe({type: 'largest-contentful-paint', buffered: true});
new PerformanceObserver(list => { for (const one of list.getEntries()) 
  if (!one.hadRecentInput) window.seen.cls += one.value; })
  .observe({type: 'layout-shift', buffered: true});
"""


def painted(context: Any, address: str) -> tuple[float, float]:
    """(LCP in seconds, CLS) of a page that nothing was kept of."""
    page = context.new_page()
    session = context.new_cdp_session(page)
    session.send("Network.enable")
    session.send("Network.clearBrowserCache")
    session.send("Network.emulateNetworkConditions", LINE)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    page.add_init_script(WATCH)
    page.goto(address)
    page.wait_for_load_state("networkidle")
    page.wait_for_timeout(500)
    seen = page.evaluate("window.seen")
    page.close()
    return seen["lcp"] / 1000, seen["cls"]


def paint() -> None:
    """Of the pages that somebody opens on a phone, in a house of 24 booths that is booked out."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        say("paint", "not measured: no Chromium here")
        return
    from django.core.wsgi import get_wsgi_application
    from playwright.sync_api import sync_playwright

    from studiodesk.people import actions as people
    from studiodesk.people.models import Member
    from tests import engines
    from tests.cast import CHROMIUM_FLAGS
    from tests.journeys.conftest import Quiet, Server

    word = "wet hands and dark eyes"
    with tempfile.TemporaryDirectory(prefix="studiodesk-bench-") as folder:
        engine = engines.SQLite(Path(folder))
        with engine.copy(), time_machine.travel(NOW, tick=True):
            world = furnished(MEMBERS)
            fill(world, HOLDS)
            member = Member.objects.get(pk=world.members[0])
            people.set_password(person=member, password=word, now=NOW, by=None)
            server = Server(("127.0.0.1", 0), Quiet)
            server.set_app(get_wsgi_application())
            threading.Thread(target=server.serve_forever, daemon=True).start()
            here = f"http://127.0.0.1:{server.server_port}"
            os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
            with sync_playwright() as playwright:
                browser = playwright.chromium.launch(executable_path=chromium, args=CHROMIUM_FLAGS)
                context = browser.new_context(viewport={"width": 360, "height": 740}, locale="en-GB")
                _measure(context, "a stranger's first page", f"{here}/")
                page = context.new_page()
                page.goto(f"{here}/log-in/")
                page.get_by_label("Email").fill(member.email)
                page.get_by_label("Password").fill(word)
                page.get_by_role("button", name="Log in").click()
                page.wait_for_load_state()
                page.close()
                for what, path in (
                    ("member's first page", "/"),
                    ("the day", "/day/2026-12-01/"),
                    ("a full day of the booths", "/day/2026-12-01/enlarger-booth/"),
                    ("find a time", "/find/"),
                    ("the baths", "/baths/"),
                ):
                    _measure(context, what, here + path)
                browser.close()
            server.shutdown()
            server.server_close()
        engine.close()


def _measure(context: Any, what: str, address: str) -> None:
    lcp, cls = painted(context, address)
    say(f"{what}: largest paint on a slow phone", f"{lcp:.2f} s", "", f"≤ {LCP_BAR_S} s", lcp <= LCP_BAR_S)
    say(f"{what}: what jumps", f"{cls:.3f}", "", f"≤ {CLS_BAR}", cls <= CLS_BAR)
