"""No page and no booking waits for Redis: the real web server beside one that is away, and one that never answers."""

from __future__ import annotations

import contextlib
import os
import socket
import statistics
import subprocess
import sys
import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from scripts.smoke import PASSWORD, Journey
from scripts.visitor import Visitor
from tests.brokers import free_port, until

ROOT = Path(__file__).resolve().parents[2]
PAGES = ("/", "/up/", "/day/", "/find/", "/bookings/", "/baths/", "/safety/", "/you/")


class HungRedis:
    """Takes every connection and says nothing; ``callers`` counts them."""

    def __init__(self) -> None:
        self.listener = socket.create_server(("127.0.0.1", 0))
        self.callers: list[socket.socket] = []
        self.url = f"redis://127.0.0.1:{self.listener.getsockname()[1]}/0"
        threading.Thread(target=self._take, daemon=True).start()

    def _take(self) -> None:
        with contextlib.suppress(OSError):
            while True:
                self.callers.append(self.listener.accept()[0])

    def close(self) -> None:
        for caller in self.callers:
            caller.close()
        self.listener.close()


@pytest.fixture
def hung() -> Iterator[HungRedis]:
    redis = HungRedis()
    yield redis
    redis.close()


@contextlib.contextmanager
def site(redis_url: str) -> Iterator[int]:
    """The web server of the stack beside this Redis; gives its port."""
    port = free_port()
    program = subprocess.Popen(
        [sys.executable, "-m", "gunicorn", "--config", "deploy/gunicorn.conf.py", "studiodesk_site.wsgi"],
        cwd=ROOT,
        env=os.environ
        | {"REDIS_URL": redis_url, "STUDIODESK_BIND": f"127.0.0.1:{port}", "STUDIODESK_WORKERS": "1"}
        | {"STUDIODESK_HTTPS": "", "STUDIODESK_HOSTS": "localhost"},
        stderr=subprocess.DEVNULL,
    )

    def is_up() -> bool:
        with contextlib.suppress(OSError):
            return Visitor(port, https=False).get("/up/").status == 200
        return False

    try:
        assert until(is_up, 90), "the site is not up"
        yield port
    finally:
        program.terminate()
        program.wait(30)


def a_person() -> Any:
    from studiodesk.people import actions as people

    then = datetime(2026, 1, 15, 9, 0, tzinfo=UTC)
    return people.make_person(
        number="R1", name="Rik", email="rik@example.org", joined_on=then.date(), now=then, invite=False
    )


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True, scope="session")
def test_every_page_answers_and_a_booking_succeeds_as_quickly_whatever_redis_does(fresh_db, redis, hung, tmp_path):
    from studiodesk.bookings.models import Booking
    from studiodesk.people import queries as people
    from tests import makers

    makers.house()
    person = a_person()
    link = f"/password/{people.password_link(person)}/"
    away = f"redis://127.0.0.1:{free_port()}/0"
    seconds: dict[str, float] = {}
    for number, (name, url) in enumerate((("well", redis), ("away", away), ("hung", hung.url)), 1):
        with site(url) as port:
            visitor = Visitor(port, https=False)
            first = visitor.get(link if number == 1 else "/log-in/")
            given = {"password": PASSWORD} | ({} if number == 1 else {"email": person.email})
            assert visitor.send(first, first.path, **given).path == "/"
            asked = [visitor.get(page) for _ in range(2) for page in PAGES]
            assert {(one.path, one.status) for one in asked} == {(page, 200) for page in PAGES}
            journey = Journey(port, False, tmp_path, datetime.now(UTC).date(), lambda what: None)
            journey.books(visitor)
            seconds[name] = statistics.median(one.seconds for one in asked[len(PAGES) :])
        assert Booking.objects.count() == number
    assert hung.callers == [], "a request asked Redis"
    # A single question to a Redis that hangs would take the second of CELERY_BROKER_TRANSPORT_OPTIONS.
    assert max(seconds["away"], seconds["hung"]) < seconds["well"] + 0.5, seconds


def test_a_hung_redis_counts_who_asks_it(hung):
    """What the test above relies on: a question to it is seen, and is given up after a second."""
    from kombu import Connection
    from kombu.exceptions import OperationalError

    from studiodesk_site.celery import app

    with pytest.raises(OperationalError), app.connection_for_write(hung.url) as connection:
        assert isinstance(connection, Connection)
        app.send_task("studiodesk.tick", connection=connection)
    assert hung.callers
