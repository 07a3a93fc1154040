"""A Redis of the tests' own, that may be stopped, made to hang and started again at the same address."""

from __future__ import annotations

import shutil
import signal
import socket
import subprocess
import time
from collections.abc import Callable, Iterator

import pytest

from tests import notrun


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def until(true: Callable[[], object], seconds: float = 20.0) -> object:
    """What ``true()`` answers as soon as it is true; its last answer after ``seconds``."""
    ends = time.monotonic() + seconds
    while not (answer := true()) and time.monotonic() < ends:
        time.sleep(0.05)
    return answer


class Redis:
    """One server on a port of its own; nothing of it is kept."""

    def __init__(self) -> None:
        program = shutil.which("redis-server")
        if program is None:
            notrun.missing("redis", "no redis-server on this machine")
        self.program, self.port = program, free_port()
        self.url = f"redis://127.0.0.1:{self.port}/0"
        self.start()

    def start(self) -> None:
        self.server = subprocess.Popen(
            [self.program, "--bind", "127.0.0.1", "--port", str(self.port), "--save", "", "--appendonly", "no"],
            stdout=subprocess.DEVNULL,
        )
        assert until(self._listens), "Redis does not listen"

    def _listens(self) -> bool:
        with socket.socket() as probe:
            return probe.connect_ex(("127.0.0.1", self.port)) == 0

    def kill(self) -> None:
        self.server.kill()
        self.server.wait(10)

    def hang(self) -> None:
        """It keeps its connections, takes new ones, and answers nothing."""
        self.server.send_signal(signal.SIGSTOP)

    def go_on(self) -> None:
        self.server.send_signal(signal.SIGCONT)

    def close(self) -> None:
        self.go_on()
        self.kill()


@pytest.fixture(scope="session")
def redis() -> Iterator[str]:
    """The address of a Redis, or the test is not run and says so."""
    server = Redis()
    yield server.url
    server.close()


@pytest.fixture
def broker(redis: str) -> Iterator[str]:
    """The same, and this process sends its tasks there."""
    from studiodesk_site.celery import app

    before = app.conf.broker_url
    app.conf.broker_url = redis
    yield redis
    app.conf.broker_url = before
