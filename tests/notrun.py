"""What a run of the tests left out, and why: said in its last lines, never in silence.

A fixture that finds no PostgreSQL, no Redis or no browser calls ``missing("postgres", "no server at …")``.  Without a
word from outside that skips the test; if the part is named in the environment variable ``STUDIODESK_REQUIRE``
(``"postgres redis browser"``), it fails it.

PYTEST_DONT_REWRITE: nothing asserts here, and conftest imports this module before pytest could rewrite it.
"""

from __future__ import annotations

import os
from collections import Counter
from typing import Any, NoReturn

import pytest

NAMES = {"postgres": "PostgreSQL", "redis": "Redis", "browser": "a real browser", "checker": "the HTML checker"}


def required() -> frozenset[str]:
    """The parts that must be there on this machine; an unknown name is refused, or a slip would require nothing."""
    parts = frozenset(os.environ.get("STUDIODESK_REQUIRE", "").replace(",", " ").split())
    if unknown := parts - NAMES.keys():
        raise pytest.UsageError(f"STUDIODESK_REQUIRE: unknown {sorted(unknown)}, known are {sorted(NAMES)}")
    return parts


def missing(part: str, reason: str) -> NoReturn:
    """Skip what runs now because ``part`` (a key of ``NAMES``) is not here, or fail it if the part is required."""
    sentence = f"{NAMES[part]} ({reason})"
    if part in required():
        pytest.fail(f"required by STUDIODESK_REQUIRE but missing: {sentence}", pytrace=False)
    pytest.skip(sentence, allow_module_level=True)


def reason_of(report: Any) -> str:
    """Why a report says "skipped", as given to ``pytest.skip``."""
    longrepr = report.longrepr
    text = longrepr[2] if isinstance(longrepr, tuple) else str(longrepr)
    return text.removeprefix("Skipped: ")


def lines(skipped: list[Any]) -> list[str]:
    """One line a reason, with how many tests it kept from running."""
    tests = Counter(reason_of(report) for report in skipped)
    return [f"not run: {reason}: {number} test{'' if number == 1 else 's'}" for reason, number in sorted(tests.items())]


def pytest_configure(config: pytest.Config) -> None:
    required()


@pytest.hookimpl(trylast=True)
def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Just before the closing line; every skip is shown, whoever asked for it."""
    for line in lines(terminalreporter.stats.get("skipped", [])):
        terminalreporter.write_line(line, yellow=True)
