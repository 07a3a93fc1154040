"""Logs tapped without the network reach the server exactly once and in order, whatever happens in between."""

from __future__ import annotations

import contextlib
import os
import signal
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.utils import timezone

from studiodesk.chemistry.models import Feed
from studiodesk.people import actions as doors
from studiodesk.people.models import Member
from studiodesk.stations.models import Processor
from studiodesk.upkeep import actions as upkeep
from tests.cast import CHROMIUM_FLAGS
from tests.journeys import people

from .conftest import EXAMPLE
from .tablets import House, arrived, counted, enrolled, offline, opened, says, tap, until

pytestmark = pytest.mark.parametrize("engine", ["sqlite"], indirect=True)


@pytest.fixture
def studio(fresh_db: str, browser: Any) -> Iterator[House]:
    """Ostermill with its people, served by a process of its own at the real time."""
    described = b"".join((EXAMPLE / name).read_bytes() for name in ("studio.toml", "demo.toml"))
    upkeep.load_studio(data=described, now=datetime(2026, 1, 15, 9, 0, tzinfo=UTC))
    people.move_in()
    running = House(fresh_db)
    yield running
    for context in browser.contexts:
        context.close()
    running.close()


@pytest.fixture
def context(studio: House, browser: Any) -> Any:
    made = browser.new_context(viewport={"width": 768, "height": 1024}, locale="en-GB")
    made.tablet = enrolled(made, studio)
    return made


def test_logs_made_offline_survive_a_reload_and_arrive_in_order(studio: House, context: Any) -> None:
    page = opened(context, studio)
    tap(page, 1)
    arrived([1])
    says(page, "All logs sent")
    with offline(context):
        tap(page, 2)
        says(page, "1 waiting, oldest ")
        page.reload()
        assert page.locator("html[data-shell]").count() == 1
        says(page, "1 waiting, oldest ")
        assert "Logged 2 sheets" in page.locator("#last").inner_text()
        tap(page, 3)
        page.get_by_role("link", name="Another processor").click()
        page.locator("h1", has_text="Which processor?").wait_for()
        page.locator("#processors a").nth(1).click()
        page.locator("#entry").wait_for()
        assert "/tablet/processor/" in page.url and "P-RC" not in page.url
        page.goto(studio.url("/tablet/processor/P-RC/"))
        tap(page, 4)
        says(page, "3 waiting, oldest ")
        page.get_by_role("link", name="Sign in and out").click()
        page.locator("h1", has_text="This page needs the network").wait_for()
        page.goto(studio.url("/tablet/processor/P-RC/"))
        assert counted() == [1]
    arrived([1, 2, 3, 4])
    says(page, "All logs sent")
    page.locator("html:not([data-shell])").wait_for()  # online it is the server's page again
    assert page.faults == []
    rows = list(Feed.objects.order_by("pk"))
    assert [row.fed_at for row in rows] == sorted(row.fed_at for row in rows)
    assert all(row.tablet_id == context.tablet.pk for row in rows)


def test_the_browser_is_killed_and_the_logs_are_still_there(studio: House, browser: Any, tmp_path: Path) -> None:
    def started() -> Any:
        return browser.browser_type.launch_persistent_context(
            str(tmp_path / "profile"), executable_path=executable, args=CHROMIUM_FLAGS, locale="en-GB"
        )

    executable = chromium()
    before = started()
    enrolled(before, studio)
    before.close()  # a browser keeps its cookies at its leisure: this one was enrolled some time ago
    first = started()
    page = opened(first, studio)
    first.set_offline(True)
    tap(page, 2)
    tap(page, 3)
    says(page, "2 waiting")
    kill_browser_of(tmp_path / "profile")
    with contextlib.suppress(Exception):
        first.close()
    second = started()
    second.set_offline(True)
    page = second.new_page()
    page.goto(studio.url("/tablet/processor/P-RC/"))
    says(page, "2 waiting")
    tap(page, 4)
    assert counted() == []
    second.set_offline(False)
    arrived([2, 3, 4])
    says(page, "All logs sent")
    second.close()


def chromium() -> str:
    import shutil

    return shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome") or ""


def kill_browser_of(profile: Path) -> None:
    """The browser that this test started, told by its profile; it gets no chance to write anything more."""
    mine = f"--user-data-dir={profile}"
    killed = 0
    for entry in Path("/proc").iterdir():
        with contextlib.suppress(OSError):
            if entry.name.isdigit() and mine in (entry / "cmdline").read_text().split("\0"):
                os.kill(int(entry.name), signal.SIGKILL)
                killed += 1
    assert killed


def test_the_server_is_killed_and_comes_back(studio: House, context: Any) -> None:
    page = opened(context, studio)
    studio.kill()
    tap(page, 2)
    page.reload()
    assert page.locator("html[data-shell]").count() == 1
    tap(page, 3)
    says(page, "2 waiting")
    studio.start()
    arrived([2, 3])
    says(page, "All logs sent")


def test_answers_are_lost_after_the_server_wrote(studio: House, context: Any) -> None:
    page = opened(context, studio)
    studio.line.faults["/tablet/logs/"] = "lose"
    tap(page, 2)
    arrived([2])
    tap(page, 3)
    says(page, "2 waiting")
    until(lambda: studio.line.posts("/tablet/logs/") >= 3, "it is sent again", 30)
    assert counted() == [2]
    studio.line.faults.clear()
    arrived([2, 3])
    says(page, "All logs sent")
    assert studio.line.posts("/tablet/logs/") > 3


def test_a_device_whose_clock_is_wrong_tells_when_it_really_was(studio: House, context: Any) -> None:
    context.add_init_script("const real = Date.now; Date.now = () => real.call(Date) - 9 * 3600e3;")
    page = opened(context, studio)
    with offline(context):
        before = timezone.now()
        tap(page, 2)
        after = timezone.now()
        said = page.locator("#queue").inner_text()
        page.wait_for_timeout(2_500)
    arrived([2])
    feed = Feed.objects.get()
    assert before - timedelta(seconds=2) <= feed.fed_at <= after
    assert feed.recorded_at - feed.fed_at >= timedelta(seconds=2)
    from zoneinfo import ZoneInfo

    local = {f"{moment.astimezone(ZoneInfo('Europe/Amsterdam')):%H:%M}" for moment in (before, after)}
    assert said.rpartition(" ")[2] in local  # the screen too says the studio's time


def test_a_refused_log_is_kept_and_shown_and_lets_the_others_pass(studio: House, context: Any) -> None:
    page = opened(context, studio)
    with offline(context):
        tap(page, 2, size="406x508")
        tap(page, 3)
        Processor.objects.filter(code="P-RC").update(feed_width_mm=300)
    arrived([3])
    says(page, "1 needs the desk")
    page.reload()
    says(page, "1 needs the desk")
    refused = page.locator("#refused .notice")
    words = refused.inner_text()
    for said in ("2 sheets of 16×20 in", "Walk-in", "406 mm across", "takes 300 mm at most"):
        assert said in words
    button = refused.get_by_role("button")
    assert button.inner_text() == "Entered at the desk: put it away"
    button.click()
    assert button.inner_text() == "Tap again: it will not be sent"
    says(page, "1 needs the desk")
    button.click()
    says(page, "All logs sent")
    assert refused.count() == 0 and counted() == [3]


def test_a_tablet_out_of_use_keeps_everything_and_says_so(studio: House, context: Any) -> None:
    page = opened(context, studio)
    context.set_offline(True)
    tap(page, 2)
    staff = Member.objects.filter(is_staff=True).first()
    doors.revoke_tablet(tablet=context.tablet, now=timezone.now(), by=staff)
    context.set_offline(False)
    says(page, "Cannot save: tell the desk")
    page.reload()
    says(page, "Cannot save: tell the desk")
    assert page.locator("html[data-shell]").count() == 1
    assert page.get_by_role("link", name="Make this the tablet").is_visible()
    tap(page, 3)
    says(page, "Cannot save: tell the desk")
    assert counted() == []
    enrolled(context, studio, "Dry end again")
    page.reload()
    arrived([2, 3])
    says(page, "All logs sent")


def test_two_tabs_share_one_line(studio: House, context: Any) -> None:
    one = opened(context, studio)
    other = opened(context, studio)
    with offline(context):
        tap(one, 2)
        tap(other, 3)
        tap(one, 4)
        for page in (one, other):
            says(page, "3 waiting")
    arrived([2, 3, 4])
    for page in (one, other):
        says(page, "All logs sent")
    assert studio.line.posts("/tablet/logs/") == 3


def test_the_last_log_is_taken_back_from_the_line_or_at_the_server(studio: House, context: Any) -> None:
    page = opened(context, studio)
    with offline(context):
        tap(page, 2)
        page.locator("#last button").click()
        says(page, "All logs sent")
        assert "Taken back: 2 sheets" in page.locator("#said").inner_text()
        tap(page, 3)
    arrived([3])
    says(page, "All logs sent")
    page.locator("html:not([data-shell])").wait_for()
    page.locator("#last", has_text="Logged 3 sheets").get_by_role("button").click()
    until(lambda: Feed.objects.filter(undoes__sheets=3).count() == 1, "it is taken back")
    # And when nobody knows whether it was counted: first counted for certain, then taken back for certain.
    studio.line.faults["/tablet/logs/"] = "lose"
    page.wait_for_timeout(1_500)
    tap(page, 4)
    page.locator("#last", has_text="Logged 4 sheets").get_by_role("button").click()
    says(page, "1 waiting")
    studio.line.faults.clear()
    until(lambda: Feed.objects.filter(undoes__sheets=4).count() == 1, "it is taken back", 30)
    says(page, "All logs sent")
    assert Feed.objects.filter(undoes=None, undone_by=None).count() == 0
    assert counted() == [3, 4]
