"""Fewer tests than before, without a word why, fail the run.

``tests/expected_count.txt`` (named by the ini option ``expected_count``) is a short log, one line a change::

    412
    430  the tablet's journeys
    428  two tests of the old search went with it

The last line counts.  A line that goes down needs a reason.  When the whole suite runs on a machine that has all (the
environment has ``CI`` or ``STUDIODESK_REQUIRE``) and fewer tests really ran, the run ends as failed: an error in the
closing line and exit code 1.  A test that was skipped did not run.
"""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import Any

import pytest

LINE = re.compile(r"(\d+)\s*(.*)")


def read_count(text: str) -> int:
    """The number in force; ``ValueError`` for a line without a number or a fall without a reason."""
    count = 0
    for number, line in enumerate(filter(None, map(str.strip, text.splitlines())), 1):
        match = LINE.fullmatch(line)
        if match is None:
            raise ValueError(f"line {number} is no number with a reason: {line!r}")
        now, reason = int(match.group(1)), match.group(2)
        if now < count and not reason:
            raise ValueError(f"line {number} falls from {count} to {now} without a word why")
        count = now
    return count


def is_whole(config: pytest.Config) -> bool:
    """True if nothing narrowed the run: no paths, no selection, nothing deselected or ignored."""
    option = config.option
    narrowed = ("keyword", "markexpr", "lf", "deselect", "ignore", "ignore_glob", "collectonly", "stepwise")
    return config.args_source is pytest.Config.ArgsSource.TESTPATHS and not any(
        getattr(option, name, None) for name in narrowed
    )


def shortfall(config: pytest.Config, ran: int) -> str | None:
    """The sentence that fails the run, or None."""
    if not (os.environ.get("CI") or os.environ.get("STUDIODESK_REQUIRE")) or not is_whole(config):
        return None
    path = Path(config.rootpath, config.getini("expected_count"))
    try:
        expected = read_count(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        return f"{path.name} cannot be read: {error}"
    if ran >= expected:
        return None
    return (
        f"{ran} tests ran, {expected} ran before. If they went on purpose, add a line to {path.name}: "
        f"the new number and a word why."
    )


class Counter:
    """Counts the tests that ran: those whose own body was reached."""

    def __init__(self, config: pytest.Config) -> None:
        self.config = config
        self.ran = 0

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.when == "call" and (report.outcome != "skipped" or hasattr(report, "wasxfail")):
            self.ran += 1

    @pytest.hookimpl(tryfirst=True)
    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        sentence = shortfall(self.config, self.ran)
        reporter: Any = self.config.pluginmanager.get_plugin("terminalreporter")
        if sentence is None or reporter is None:
            return
        # An error like any other: shown in full, named in the summary, counted in the closing line.
        name = str(self.config.getini("expected_count"))
        error = pytest.TestReport(name, (name, None, "the whole suite"), {}, "failed", sentence, "teardown")
        reporter.stats.setdefault("error", []).append(error)
        if session.exitstatus in (pytest.ExitCode.OK, pytest.ExitCode.NO_TESTS_COLLECTED):
            session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addini("expected_count", "file that says how many tests ran before", default="tests/expected_count.txt")


def pytest_configure(config: pytest.Config) -> None:
    config.pluginmanager.register(Counter(config), "counted-counter")
