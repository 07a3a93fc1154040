"""The server as it is deployed, and sixteen people with a browser profile each who press at the same instant."""

from __future__ import annotations

import contextlib
import os
import signal
import socket
import subprocess
import sys
import threading
import time
import tomllib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from scripts.visitor import Answer, Visitor

ROOT = Path(__file__).resolve().parents[2]
ZONE = ZoneInfo("Europe/Amsterdam")
WORKERS = 2


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


@contextlib.contextmanager
def served(url: str) -> Iterator[int]:
    """The web command of deploy/commands.toml on the database of the race; its port."""
    from django.conf import settings

    command = tomllib.loads((ROOT / "deploy/commands.toml").read_text())["web"]["command"]
    port = free_port()
    env = os.environ | {
        "DATABASE_URL": url,
        "DJANGO_SETTINGS_MODULE": "studiodesk_site.settings",
        "STUDIODESK_BIND": f"127.0.0.1:{port}",
        "STUDIODESK_WORKERS": str(WORKERS),
        "STUDIODESK_SECRET_KEY": settings.SECRET_KEY,  # the sessions of ``logged_in`` are signed here
    }
    env.pop("REDIS_URL", None)
    server = subprocess.Popen([sys.executable, "-m", *command], cwd=ROOT, env=env)
    try:
        until = time.monotonic() + 30
        while True:
            with contextlib.suppress(OSError):
                if Visitor(port, https=False).get("/up/").status == 200:
                    break
            assert server.poll() is None and time.monotonic() < until, "the server does not come up"
            time.sleep(0.1)
        yield port
    finally:
        server.send_signal(signal.SIGTERM)
        server.wait(timeout=30)


def logged_in(port: int, members: Sequence[Any]) -> list[Visitor]:
    """A visitor for each, with a session such as the log-in page gives (that page is slow on purpose)."""
    from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
    from django.contrib.sessions.backends.db import SessionStore

    visitors = []
    for member in members:
        session = SessionStore()
        session[SESSION_KEY] = str(member.pk)
        session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
        session[HASH_SESSION_KEY] = member.get_session_auth_hash()
        session.save()
        visitor = Visitor(port, https=False, patience_s=60)
        visitor.cookies["sessionid"] = str(session.session_key)
        visitors.append(visitor)
    return visitors


@dataclass
class Pressed:
    """What came of one press, and when it was under way."""

    answer: Answer | None
    began: float
    ended: float
    fault: str = ""

    @property
    def status(self) -> int:
        return self.answer.status if self.answer else 0


@dataclass
class Sums:
    """All presses of a race; printed, so that ``make race`` shows them."""

    pressed: list[Pressed] = field(default_factory=list)

    def add(self, many: Sequence[Pressed]) -> None:
        self.pressed += many

    def told(self, name: str, url: str) -> dict[str, Any]:
        seconds = sorted(one.ended - one.began for one in self.pressed)
        sums = {
            "presses": len(seconds),
            "by status": {
                status: sum(one.status == status for one in self.pressed)
                for status in sorted({one.status for one in self.pressed})
            },
            "faults": [one.fault for one in self.pressed if one.fault],
            "p50 ms": round(1000 * seconds[len(seconds) // 2], 1),
            "p99 ms": round(1000 * seconds[int(len(seconds) * 0.99)], 1),
        }
        print(f"\n{name} over HTTP, {url.split(':')[0]}: " + ", ".join(f"{k} {v}" for k, v in sums.items()))
        return sums


def together(presses: Sequence[Callable[[], Answer]]) -> list[Pressed]:
    """Everybody presses at once; what each was answered, in the order of ``presses``."""
    barrier = threading.Barrier(len(presses), timeout=60)
    done: list[Pressed | None] = [None] * len(presses)

    def press(number: int) -> None:
        barrier.wait()
        began = time.monotonic()
        answer, fault = None, ""
        try:
            answer = presses[number]()
        except Exception as error:
            fault = f"{type(error).__name__}: {error}"[:200]
        done[number] = Pressed(answer, began, time.monotonic(), fault)

    threads = [threading.Thread(target=press, args=(number,)) for number in range(len(presses))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return [one for one in done if one is not None]


def most_at_once(pressed: Sequence[Pressed]) -> int:
    """How many presses were under way at the same instant: without this a race would be a queue of its own."""
    return max(sum(other.began <= one.began < other.ended for other in pressed) for one in pressed)


def open_day(number: int) -> date:
    """The ``number``-th open day (Monday is closed) from eight days on; the server goes by the real clock."""
    day = datetime.now(ZONE).date() + timedelta(days=8)
    while True:
        if day.weekday() != 0:
            if number == 0:
                return day
            number -= 1
        day += timedelta(days=1)


def wish(station: str, day: date, begins: str, until: str, **more: str) -> str:
    fields = {"station": station, "process": "", "day": day.isoformat(), "begins": begins, "until": until} | more
    return urlencode(fields)


def moment(day: date, clock: str) -> datetime:
    hour, minute = clock.split(":")
    return datetime(day.year, day.month, day.day, int(hour), int(minute), tzinfo=ZONE)
