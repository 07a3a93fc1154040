"""What a first visit loads: the page as the site sends it, and each file it names, packed as the site packs it."""

from __future__ import annotations

import gzip
import re
import tempfile
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import urljoin

import time_machine

from .table import say
from .world import NOW, World, fill, furnished

WEIGHT_BAR, SCRIPTS_BAR, REQUESTS_BAR = 150, 40, 12
HOLDS, MEMBERS = 10_000, 500
#: The server packs these; type and pictures are packed in themselves.
PACKED = (".css", ".js", ".svg", ".json", ".webmanifest", ".txt")
LINKS = {"stylesheet", "icon", "preload", "manifest", "apple-touch-icon", "modulepreload"}


class Named(HTMLParser):
    """The addresses of everything that a browser fetches along with a page."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "link" and LINKS & set((given.get("rel") or "").split()):
            self.found.append(given.get("href") or "")
        elif tag in {"script", "img", "source", "iframe", "embed", "audio", "video", "track"} and given.get("src"):
            self.found.append(given["src"] or "")
        elif tag == "object" and given.get("data"):
            self.found.append(given["data"] or "")


def files_of(html: str) -> dict[str, bytes]:
    """Address → content of what the page names, and of what its style sheets name in turn: type, at its dearest."""
    parser, found = Named(), {}
    parser.feed(html)
    todo = list(parser.found)
    while todo:
        address = todo.pop()
        if address in found or address.startswith("data:"):
            continue
        found[address] = content = _static(address)
        if address.endswith(".css"):
            named = re.findall(r"""(?:url\(|@import\s+)["']?([^"')\s;]+)""", content.decode())
            todo += [urljoin(address, one) for one in named if not one.startswith("#")]
    return found


def _static(address: str) -> bytes:
    from django.conf import settings
    from django.contrib.staticfiles import finders

    if address.startswith("/") and not address.startswith(settings.STATIC_URL):
        return _answered(address)
    if not address.startswith(settings.STATIC_URL):
        raise ValueError(f"{address} is loaded from somewhere else")
    path = finders.find(address.removeprefix(settings.STATIC_URL))
    if not path:
        raise ValueError(f"{address} is named by a page and is not there")
    return Path(str(path)).read_bytes()


def _answered(address: str) -> bytes:
    """What the site itself says there, as the tablet's manifest."""
    from django.test import Client

    response = Client(SERVER_NAME="localhost").get(address)
    if response.status_code != 200:
        raise ValueError(f"{address} is named by a page and answers {response.status_code}")
    return bytes(response.content)


def sent(address: str, content: bytes) -> int:
    return len(gzip.compress(content)) if address.endswith(PACKED) else len(content)


def weighed(what: str, response: Any) -> None:
    """Of a first load the kilobytes, those of its scripts, and how many requests it takes."""
    html = response.content
    files = files_of(html.decode())
    scripts = sum(sent(address, content) for address, content in files.items() if address.endswith(".js")) / 1000
    rest = sum(sent(address, content) for address, content in files.items()) / 1000
    packed = rest + len(gzip.compress(html)) / 1000
    say(f"{what}: first load, packed", f"{packed:.1f} kB", "", f"≤ {WEIGHT_BAR} kB", packed <= WEIGHT_BAR)
    say(f"{what}: its scripts, packed", f"{scripts:.1f} kB", "", f"≤ {SCRIPTS_BAR} kB", scripts <= SCRIPTS_BAR)
    requests = 1 + len(files)
    say(f"{what}: requests", str(requests), "", f"≤ {REQUESTS_BAR}", requests <= REQUESTS_BAR)


def pages() -> None:
    """In a house of 24 booths that is booked out, for a member and at the tablet."""
    from tests import engines

    with tempfile.TemporaryDirectory(prefix="studiodesk-bench-") as folder:
        engine = engines.SQLite(Path(folder))
        with engine.copy():
            world = furnished(MEMBERS)
            fill(world, HOLDS)
            with time_machine.travel(NOW, tick=False):
                for what, response in visited(world):
                    assert response.status_code == 200, (what, response.status_code)
                    weighed(what, response)
        engine.close()


def visited(world: World) -> list[tuple[str, Any]]:
    """The first page before and after logging in, a full day of the booths, and a processor's tablet."""
    from django.test import Client
    from django.urls import reverse

    from studiodesk.people import actions as people
    from studiodesk.people import queries
    from studiodesk.people.models import Member
    from tests import makers

    host = {"SERVER_NAME": "localhost"}
    stranger, member, tablet = Client(**host), Client(**host), Client(**host)
    member.force_login(Member.objects.get(pk=world.members[0]))
    _row, code = people.invite_tablet(name="Dry end", now=NOW, by=makers.member("Staff", is_staff=True))
    tablet.cookies[queries.TABLET_COOKIE] = people.enrol_tablet(code=code, now=NOW)[1]
    return [
        ("log-in page", stranger.get(reverse("log_in"))),
        ("member's first page", member.get(reverse("home"))),
        ("day page, full", member.get(reverse("kind_day", args=["2026-12-01", "enlarger-booth"]))),
        ("tablet page of a processor", tablet.get(reverse("tablet_processor", args=["P-RC"]))),
    ]
