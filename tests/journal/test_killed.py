"""A real worker, taken from a real Redis and killed with a letter in its hand: nobody is left out, nobody is told
twice without a mark; and a worker and a timer whose Redis hangs, dies and returns.

What a mail server says when: RFC 5321, sections 3.1 and 3.3.  The same Message-ID for both copies: RFC 5322, 3.6.4.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.utils import timezone

from scripts.visitor import letters_in
from studiodesk import tasks
from studiodesk.journal.actions import CLAIM_LASTS, LEASE_LASTS
from studiodesk.journal.models import ChoreLease, Entry, Notice
from studiodesk.people import actions as people
from studiodesk_site.celery import app
from tests import makers
from tests.brokers import Redis, until

from .smtp import mail_server

ROOT = Path(__file__).resolve().parents[2]
COMMANDS = tomllib.loads((ROOT / "deploy/commands.toml").read_text())
PATIENCE_S = 90.0


@contextmanager
def running(which: str, *more: str, **environment: str) -> Iterator[subprocess.Popen[bytes]]:
    """One of the commands of the stack, ended with everything it started."""
    program = subprocess.Popen(
        [sys.executable, "-m", *COMMANDS[which]["command"], *more],
        cwd=ROOT,
        env=os.environ | environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    try:
        yield program
    finally:
        end(program)


def end(program: subprocess.Popen[bytes]) -> None:
    """As pulling the plug does: the worker and the child that does its work, at once."""
    if program.poll() is None:
        os.killpg(program.pid, signal.SIGKILL)
        program.wait(10)


def invited(name: str) -> str:
    now = timezone.now()
    address = f"{name.lower()}@example.org"
    people.make_person(number=f"N-{name}", name=name, email=address, joined_on=now.date(), now=now)
    return address


def tick() -> str:
    said = StringIO()
    call_command("tick", stdout=said)
    return next(line for line in said.getvalue().splitlines() if line.startswith("letters: "))


@pytest.mark.parametrize("hangs", ["greeting", "taken"], ids=["before the mail", "after the mail"])
def test_a_worker_killed_with_a_letter_in_its_hand_leaves_nobody_out(fresh_db, broker, outbox, clock_at, hangs):
    makers.house()
    everybody = {invited(name) for name in ("Adri", "Bente", "Cas")}
    with mail_server(hangs) as post:
        with running("worker", REDIS_URL=broker, STUDIODESK_MAIL=post.url) as worker:
            app.send_task(tasks.tick.name)
            assert until(lambda: post.letters if hangs == "taken" else post.callers, PATIENCE_S)
            end(worker)
        received = list(post.letters)
    killed_at = timezone.now()
    in_hand = Notice.objects.get(state="claimed")
    assert len(received) == (hangs == "taken")
    assert Notice.objects.filter(state="waiting").count() == 2
    assert ChoreLease.objects.get(name="letters").until > killed_at

    assert tick() == "letters: somebody else is at it" and outbox == []
    with clock_at(killed_at + LEASE_LASTS):
        assert tick().startswith("letters: 2 sent (0 perhaps a second time)")
    assert in_hand.person.email not in {mail.to[0] for mail in outbox}
    with clock_at(killed_at + CLAIM_LASTS + timedelta(seconds=1)):
        assert tick().startswith("letters: 1 sent (1 perhaps a second time)")
        assert tick().startswith("letters: 0 sent")

    assert {mail.to[0] for mail in outbox} == everybody and len(outbox) == 3
    assert set(Notice.objects.values_list("state", flat=True)) == {"sent"}
    assert Entry.objects.filter(code="journal.sent_again").count() == 1
    second = outbox[-1]
    assert second.to == [in_hand.person.email] and second.extra_headers["X-Second-Copy"] == "maybe"
    assert [mail.extra_headers.get("X-Second-Copy") for mail in outbox[:-1]] == [None, None]
    for first in received:
        assert (first["To"], first["Message-ID"]) == (second.to[0], second.extra_headers["Message-ID"])


def test_no_tick_waits_for_a_receipt_that_redis_can_lose():
    """One lost while Redis hangs kept its place in the worker's bound; one sent after Redis died ended the worker."""
    assert {name: queue.no_ack for name, queue in app.amqp.queues.items()} == {"studiodesk": True}
    assert tasks.tick.Request == "studiodesk_site.celery:WithoutReceipt"


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True, scope="session")
def test_worker_and_timer_outlive_a_redis_that_hangs_and_one_that_dies(fresh_db, tmp_path):
    makers.house()
    redis = Redis()
    there = {"REDIS_URL": redis.url, "STUDIODESK_MAIL": f"file://{tmp_path}", "STUDIODESK_TICK_SECONDS": "1"}

    def arrived(address: str) -> Any:
        return any(letter.to == address for letter in letters_in(tmp_path))

    try:
        with running("worker", **there) as worker, running("beat", **there) as beat:
            first = invited("Adri")
            assert until(lambda: arrived(first), PATIENCE_S), "no letter while all is well"
            redis.hang()
            # The tick that was taken before may still be under way; what comes after it has nobody to send it.
            assert until(lambda: not ChoreLease.objects.filter(until__isnull=False).exists())
            hung = invited("Bente")
            assert not until(lambda: arrived(hung), 3.0), "a letter without a tick"
            redis.go_on()
            assert until(lambda: arrived(hung), PATIENCE_S), "no letter after Redis went on"
            redis.kill()
            dead = invited("Cas")
            redis.start()
            assert until(lambda: arrived(dead), PATIENCE_S), "no letter after Redis returned"
            assert (worker.poll(), beat.poll()) == (None, None), "started again instead of going on"
    finally:
        redis.close()
    assert sorted(letter.to for letter in letters_in(tmp_path)) == sorted([first, hung, dead])
