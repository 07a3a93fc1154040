"""A real server on a database of its own, and a real browser that asks it."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.core.servers.basehttp import ThreadedWSGIServer, WSGIRequestHandler
from django.core.wsgi import get_wsgi_application
from django.db import connections

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "ostermill"
#: Wednesday 25 November 2026, 14:00 in Amsterdam: the house has been open for an hour.
NOW = datetime(2026, 11, 25, 13, 0, tzinfo=UTC)
EARLIER = datetime(2026, 1, 15, 9, 0, tzinfo=UTC)


class Quiet(WSGIRequestHandler):
    def log_message(self, *args: Any) -> None:
        """Nothing: a test's output is its own."""


class Server(ThreadedWSGIServer):
    daemon_threads = True

    def close_request(self, request: Any) -> None:
        super().close_request(request)
        connections.close_all()  # the thread of this request ends with its connection


class Site:
    """A running studio at a fixed hour of a fixed day (the clock goes on from there)."""

    def __init__(self, address: str) -> None:
        self.address = address

    def url(self, path: str = "/") -> str:
        return self.address + path


@pytest.fixture
def clock() -> Iterator[Any]:
    with time_machine.travel(NOW, tick=True) as traveller:
        yield traveller


@pytest.fixture
def site(fresh_db: str, clock: Any, browser: Any) -> Iterator[Site]:
    """Ostermill as its files describe it (one bath is replenished by hand), a cast of people, and nothing booked."""
    from studiodesk.upkeep import actions as upkeep
    from tests.journeys import people

    described = b"".join((EXAMPLE / name).read_bytes() for name in ("studio.toml", "demo.toml"))
    upkeep.load_studio(data=described, now=EARLIER)
    people.move_in()
    server = Server(("127.0.0.1", 0), Quiet)
    server.set_app(get_wsgi_application())
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield Site(f"http://127.0.0.1:{server.server_port}")
    # A page left open goes on asking over its kept connection, after the database it asks about is gone.
    for context in browser.contexts:
        context.close()
    server.shutdown()
    server.server_close()
    thread.join()


def page_of(
    browser: Any,
    *,
    javascript: bool = True,
    width: int = 1366,
    height: int = 900,
    locale: str = "en-GB",
    **options: Any,
) -> Any:
    """A page of a fresh browser profile; ``page.faults`` collects what its scripts and its policy complain of."""
    context = browser.new_context(
        viewport={"width": width, "height": height}, java_script_enabled=javascript, locale=locale, **options
    )
    context.set_default_timeout(10_000)
    page = context.new_page()
    page.faults = []
    page.on("pageerror", lambda error: page.faults.append(f"script: {error}"))
    page.on(
        "console",
        lambda message: (
            page.faults.append(f"console: {message.text}")
            if message.type == "error" and "the server responded with a status of 4" not in message.text
            else None
        ),
    )
    return page
