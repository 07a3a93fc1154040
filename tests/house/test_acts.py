"""How an act is retried, and what it never hides."""

from __future__ import annotations

import fcntl
import sqlite3
import threading
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import IntegrityError, OperationalError, ProgrammingError, connection, transaction
from django.test import Client

from studiodesk import acts
from studiodesk.answers import Refused, refuse
from studiodesk.bookings.models import Hold
from studiodesk.journal import actions as journal
from studiodesk.journal.models import Entry, GivenAnswer
from studiodesk.stations.models import Lane, Resource
from tests import makers

NOW = datetime(2026, 11, 25, 14, 0, tzinfo=UTC)


def failing(times: int, error: Exception) -> Any:
    left = [times]

    @acts.act
    def work() -> str:
        Resource.objects.create(sort="station")
        if left[0]:
            left[0] -= 1
            raise error
        return "done"

    return work


def busy() -> OperationalError:
    cause = sqlite3.OperationalError("database is locked")
    cause.sqlite_errorname = "SQLITE_BUSY"  # type: ignore[misc]
    error = OperationalError("database is locked")
    error.__cause__ = cause
    return error


def test_a_busy_database_is_asked_again_and_the_failed_tries_leave_nothing(fresh_db: str) -> None:
    assert failing(2, busy())() == "done"
    assert Resource.objects.count() == 1


def test_a_database_that_stays_busy_is_said_to_be_busy(fresh_db: str) -> None:
    with pytest.raises(acts.Busy):
        failing(99, busy())()
    assert Resource.objects.count() == 0


def test_any_other_fault_is_raised_at_once(fresh_db: str) -> None:
    with pytest.raises(OperationalError):
        failing(1, OperationalError("no such table"))()
    assert Resource.objects.count() == 0


def test_only_an_overlap_is_called_taken(house: Any) -> None:
    lane = Lane.objects.first()
    ten = NOW + timedelta(days=1)

    @acts.act
    def hold(**changes: Any) -> None:
        values = {"lane": lane, "starts": ten, "ends": ten + timedelta(hours=1), "cause": "closure"} | changes
        Hold.objects.create(**values)

    hold()
    with pytest.raises(Refused) as refused:
        hold()
    assert refused.value.refusal.code == "bookings.taken"
    # A broken CHECK is our bug: it must not be told to a member as "taken".
    with pytest.raises(IntegrityError):
        hold(starts=ten + timedelta(hours=2), ends=ten + timedelta(hours=2))
    assert Hold.objects.count() == 1


def test_an_inner_act_that_is_refused_leaves_the_outer_one_standing(db: Any) -> None:
    @acts.act
    def inner() -> None:
        Resource.objects.create(sort="station")
        journal.once(key="", asker="x", body={}, now=NOW, work=dict)

    @acts.act
    def outer() -> None:
        Resource.objects.create(sort="processor")
        with pytest.raises(Refused):
            inner()

    outer()
    assert list(Resource.objects.values_list("sort", flat=True)) == ["processor"]


def test_a_form_sent_twice_is_done_once_and_answered_twice(db: Any) -> None:
    done = []

    def work() -> dict[str, Any]:
        done.append(1)
        return {"number": len(done)}

    ask = {"key": "k1", "asker": "m1", "body": {"a": 1}, "now": NOW, "work": work}
    assert journal.once(**ask) == ({"number": 1}, False)
    assert journal.once(**ask) == ({"number": 1}, True)
    assert journal.once(**{**ask, "asker": "m2"}) == ({"number": 2}, False)
    with pytest.raises(Refused) as other:
        journal.once(**{**ask, "body": {"a": 2}})
    assert other.value.refusal.code == "journal.key_used_before"
    assert len(done) == 2


def test_a_refused_form_may_be_sent_again_with_the_same_key(db: Any) -> None:
    ask = {"key": "k1", "asker": "m1", "body": {"a": 1}, "now": NOW}

    def refused() -> dict[str, Any]:
        acts.carry_out(lambda: refuse("journal.no_key"))
        raise AssertionError

    with pytest.raises(Refused):
        journal.once(**ask, work=refused)
    assert not GivenAnswer.objects.exists()
    assert journal.once(**ask, work=lambda: {"ok": True}) == ({"ok": True}, False)


def test_two_presses_at_the_same_instant_are_one_act(fresh_db: str) -> None:
    barrier = threading.Barrier(8)
    answers: list[Any] = []

    def work() -> dict[str, Any]:
        return {"entry": journal.record(code="test.pressed", happened_at=NOW, now=NOW).pk}

    def press() -> None:
        barrier.wait()
        answers.append(journal.once(key="k", asker="m", body={}, now=NOW, work=work))
        connection.close()

    threads = [threading.Thread(target=press) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert Entry.objects.count() == 1
    assert len({answer["entry"] for answer, _ in answers}) == 1
    assert sum(not replay for _, replay in answers) == 1


@pytest.mark.parametrize("engine", ["postgres"], indirect=True)
def test_a_press_while_the_first_still_runs_is_told_so(fresh_db: str) -> None:
    """IETF httpapi draft "The Idempotency-Key HTTP Header Field": a retry of a request that is still processed: 409."""
    begun, done = threading.Event(), threading.Event()

    def slow() -> dict[str, Any]:
        begun.set()
        done.wait(10)
        return {}

    def press() -> None:
        journal.once(key="k", asker="m", body={}, now=NOW, work=slow)
        connection.close()

    first = threading.Thread(target=press)
    first.start()
    begun.wait(10)
    with pytest.raises(Refused) as second:
        journal.once(key="k", asker="m", body={}, now=NOW, work=dict)
    done.set()
    first.join()
    assert second.value.refusal.code == "journal.still_running"
    assert GivenAnswer.objects.count() == 1


def test_only_a_database_that_is_away_is_called_away(db: Any) -> None:
    what = ProgrammingError if connection.vendor == "postgresql" else OperationalError
    with pytest.raises(what) as bug, transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SELECT no_such_column FROM studiodesk_hold")
    assert not acts.is_away(bug.value)
    assert acts.is_away(busy())
    assert acts.is_away(OperationalError("connection refused"))


@pytest.mark.parametrize("path", ["/safety/%00/", "/people/%00/", "/baths/%00/dev/"])
def test_an_address_with_a_nul_leads_nowhere(house: Any, path: str) -> None:
    client = Client()
    client.force_login(makers.member(is_staff=True))
    assert client.get(path).status_code == 404


def test_the_lock_on_a_row_is_taken_where_the_database_has_one(fresh_db: str) -> None:
    makers.member()
    with transaction.atomic():
        sql = str(acts.locked(makers.Member.objects.all()).query)
    assert ("FOR NO KEY UPDATE" in sql) is (connection.vendor == "postgresql")


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
def test_who_waits_too_long_for_the_one_writer_is_told_and_leaves_the_line(
    fresh_db: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(acts, "PATIENCE_S", 0.15)
    work = failing(0, busy())
    with Path(fresh_db.removeprefix("sqlite:///") + ".queue").open("w") as line:
        fcntl.flock(line, fcntl.LOCK_EX)
        with pytest.raises(acts.Busy):
            work()
    assert not Resource.objects.exists()
    # The one who gave up gets the lock now and lets go of it at once: nobody stands in the way of the next.
    assert work() == "done"
    time.sleep(0.05)
    assert work() == "done"


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
def test_who_waits_for_the_one_writer_gets_their_turn(fresh_db: str) -> None:
    work = failing(0, busy())
    with Path(fresh_db.removeprefix("sqlite:///") + ".queue").open("w") as line:
        fcntl.flock(line, fcntl.LOCK_EX)
        threading.Timer(0.1, lambda: fcntl.flock(line, fcntl.LOCK_UN)).start()
        begun = time.monotonic()
        assert work() == "done"
        assert time.monotonic() - begun > 0.05
