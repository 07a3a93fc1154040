"""A tablet in a real browser, a real server process that can be killed, and a line between them that can fail."""

from __future__ import annotations

import contextlib
import http.client
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from django.utils import timezone

from studiodesk.chemistry.models import Feed
from studiodesk.people import actions as doors
from studiodesk.people.models import Member
from studiodesk.people.queries import TABLET_COOKIE

ROOT = Path(__file__).resolve().parents[2]
HOP = {"connection", "keep-alive", "transfer-encoding", "content-length", "date", "server"}


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


class House:
    """The site as a process of its own (gunicorn), reached through a line."""

    def __init__(self, database: str) -> None:
        self.port, self.database = free_port(), database
        self.process: subprocess.Popen[bytes] | None = None
        self.line = Line(self.port)
        self.start()

    @property
    def address(self) -> str:
        return f"http://localhost:{self.line.port}"

    def url(self, path: str) -> str:
        return self.address + path

    def start(self) -> None:
        command = [sys.executable, "-m", "gunicorn", "--bind", f"127.0.0.1:{self.port}", "--threads", "4"]
        environment = {
            **os.environ,
            "DATABASE_URL": self.database,
            "DJANGO_SETTINGS_MODULE": "studiodesk_site.settings",
            "STUDIODESK_HOSTS": "localhost,127.0.0.1,studio.lan",
        }
        self.process = subprocess.Popen(
            [*command, "--log-level", "error", "studiodesk_site.wsgi"],
            cwd=ROOT,
            env=environment,
            start_new_session=True,
        )
        until(lambda: self._answers(), "the server answers", 40)

    def _answers(self) -> bool:
        try:
            line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=5)
            line.request("GET", "/tablet/shell/", headers={"Host": "localhost"})
            return line.getresponse().status == 200
        except OSError:
            return False

    def kill(self) -> None:
        """The power goes: nothing is finished and nothing said."""
        if self.process is not None:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            self.process = None

    def close(self) -> None:
        self.kill()
        self.line.close()


class Line:
    """Carries every request to the server; ``fault`` says what becomes of the next ones."""

    def __init__(self, port: int) -> None:
        #: path → what happens to requests for it: "lose" (carried, and the answer is lost), "hang", a status, or two
        #: texts, the second of which stands in the answer instead of the first.
        self.faults: dict[str, Any] = {}
        self.asked: list[tuple[str, str]] = []
        line = self

        class Carry(BaseHTTPRequestHandler):
            def log_message(self, *args: Any) -> None:
                """Nothing: a test's output is its own."""

            def do_GET(self) -> None:
                self.carry()

            def do_POST(self) -> None:
                self.carry()

            def carry(self) -> None:
                body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
                line.asked.append((self.command, self.path))
                fault = next((what for path, what in line.faults.items() if self.path.startswith(path)), None)
                if fault == "hang":
                    time.sleep(12)
                    return
                if isinstance(fault, int):
                    self.send_error(fault)
                    return
                try:
                    there = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
                    headers = dict(self.headers) | ({"Accept-Encoding": "identity"} if isinstance(fault, tuple) else {})
                    there.request(self.command, self.path, body, headers)
                    answer = there.getresponse()
                    content = answer.read()
                except OSError:
                    return  # the server is away: the line breaks without a word
                if fault == "lose":
                    return
                self.send_response_only(answer.status)
                if isinstance(fault, tuple):
                    content = content.replace(*fault)
                for name, value in answer.getheaders():
                    if name.lower() not in HOP:
                        self.send_header(name, value)
                self.send_header("Content-Length", str(len(content)))
                self.end_headers()
                with contextlib.suppress(OSError):
                    self.wfile.write(content)

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Carry)
        self.server.daemon_threads = True
        self.port = self.server.server_port
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def posts(self, path: str) -> int:
        return sum(1 for method, asked in self.asked if method == "POST" and asked.startswith(path))

    def close(self) -> None:
        self.server.shutdown()
        self.server.server_close()


def until(said: Callable[[], Any], what: str, seconds: float = 20) -> Any:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if found := said():
            return found
        time.sleep(0.1)
    raise AssertionError(f"never: {what}")


def enrolled(context: Any, house: House, name: str = "Dry end") -> Any:
    """The browser holds a tablet's secret; gives the tablet."""
    staff = Member.objects.filter(is_staff=True).first()
    _row, code = doors.invite_tablet(name=name, now=timezone.now(), by=staff)
    tablet, secret = doors.enrol_tablet(code=code, now=timezone.now())
    context.add_cookies(
        [
            {
                "name": TABLET_COOKIE,
                "value": secret,
                "url": house.address,
                "sameSite": "Strict",
                "expires": time.time() + 9e6,
            }
        ]
    )
    return tablet


def opened(context: Any, house: House, path: str = "/tablet/processor/P-RC/") -> Any:
    """A page of the tablet whose worker is ready and which has kept what it needs."""
    context.set_default_timeout(15_000)
    page = context.new_page()
    page.faults = []
    page.on("pageerror", lambda error: page.faults.append(f"script: {error}"))
    page.goto(house.url(path))
    until(lambda: page.evaluate("navigator.serviceWorker.controller !== null"), "the worker is ready")
    says(page, "All logs sent")
    until(lambda: page.evaluate("tabletQueue.kept('facts').then(facts => Boolean(facts))"), "today's facts are kept")
    return page


def says(page: Any, sentence: str, seconds: float = 20) -> None:
    page.locator("#queue", has_text=sentence).wait_for(timeout=seconds * 1000)


def tap(page: Any, sheets: int, *, size: str = "203x254", who: str = "Walk-in") -> None:
    """One log, as a finger does it."""
    page.locator(f"[data-tiles=sheet] input[value='{size}'] + span").click()
    if page.locator("[data-tiles=paper] label:visible").count():
        page.locator("[data-tiles=paper] label:visible").first.click()
    page.locator("[data-tiles=who] label", has_text=who).first.click()
    for _ in range(sheets - 1):
        page.locator(".stepper button").last.click()
    page.locator("form#log button.act").click()
    page.locator("#last", has_text=f"Logged {sheets} sheet").wait_for()
    page.wait_for_timeout(1_100)  # until the next tap is another one


def counted() -> list[int]:
    """The sheets of every log in the order in which they reached the database."""
    return list(Feed.objects.filter(undoes=None).order_by("pk").values_list("sheets", flat=True))


def arrived(expected: list[int], seconds: float = 30) -> None:
    until(lambda: len(counted()) >= len(expected), f"{expected} arrive, there are {counted()}", seconds)
    assert counted() == expected
    keys = list(Feed.objects.filter(undoes=None).values_list("tablet_key", flat=True))
    assert len(set(keys)) == len(expected) and None not in keys


@contextlib.contextmanager
def offline(context: Any) -> Iterator[None]:
    context.set_offline(True)
    yield
    context.set_offline(False)
