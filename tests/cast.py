"""The cast: a small house, the people who come to it (built by ``makers``, which calls the acts), and a browser."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest

from tests import notrun

#: Wednesday 25 November 2026, 15:00 in Amsterdam: the house is open.
NOON_ISH = datetime(2026, 11, 25, 14, 0, tzinfo=UTC)


@pytest.fixture
def now() -> datetime:
    return NOON_ISH


@pytest.fixture
def house(db: Any) -> Any:
    from tests import makers

    return makers.house()


CHROMIUM_FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """One running Chromium for the whole session: a second Playwright in one process does not start."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if chromium is None:
        notrun.missing("browser", "no Chromium on this machine")
    from playwright.sync_api import sync_playwright

    # Playwright's event loop makes Django think it runs in async code; the tests' own threads are not.
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=chromium, args=CHROMIUM_FLAGS)
        yield running
        running.close()
