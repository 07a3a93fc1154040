"""How an act reaches the database: one outermost transaction, retried when the database asks for it.

``@act`` is put on the functions of ``actions.py``.  Inside another act (or a test's transaction) it only opens a
savepoint.  A violated ``NoOverlap`` becomes ``Refused`` with its ``violation_error_code``; every other database error
is a bug or a fault and is raised as it is.
"""

from __future__ import annotations

import fcntl
import os
import random
import sqlite3
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache, wraps
from typing import Any, ParamSpec, TypeVar

from django.apps import apps
from django.db import DatabaseError, IntegrityError, OperationalError, connection, transaction

from .answers import Refusal, Refused
from .constraints import NoOverlap

P = ParamSpec("P")
T = TypeVar("T")

TRIES = 5
PATIENCE_S = 12.0
# deadlock detected, serialization failure, lock not available
RETRY_STATES = {"40P01", "40001", "55P03"}


class Busy(Exception):
    """The database stayed busy through all tries: answer 503 with Retry-After."""


def is_worth_retrying(error: DatabaseError) -> bool:
    """True for a deadlock, a serialization failure, a lock time-out or a busy SQLite file; nothing else."""
    cause = error.__cause__
    if isinstance(cause, sqlite3.OperationalError):
        return str(getattr(cause, "sqlite_errorname", "")).startswith(("SQLITE_BUSY", "SQLITE_LOCKED"))
    return getattr(cause, "sqlstate", None) in RETRY_STATES


def is_away(error: DatabaseError) -> bool:
    """True if the database is stopped, unreachable, busy or too slow: the fault will pass, and no code is to blame."""
    cause = error.__cause__
    if isinstance(cause, sqlite3.Error):
        name = str(getattr(cause, "sqlite_errorname", ""))
        return name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED", "SQLITE_CANTOPEN", "SQLITE_IOERR", "SQLITE_FULL"))
    state = getattr(cause, "sqlstate", None)
    if state is None:  # no answer at all
        return isinstance(error, OperationalError)
    return state in RETRY_STATES or state == "57014" or state.startswith(("08", "53", "57P"))


def violated_constraint(error: IntegrityError) -> str | None:
    """The name of the ``NoOverlap`` that refused the row, or None if something else was wrong."""
    cause = error.__cause__
    if isinstance(cause, sqlite3.IntegrityError):
        if getattr(cause, "sqlite_errorname", "") == "SQLITE_CONSTRAINT_TRIGGER":
            return str(cause)
        return None
    if getattr(cause, "sqlstate", None) == "23P01":
        name = getattr(getattr(cause, "diag", None), "constraint_name", None)
        return str(name) if name else None
    return None


@cache
def _codes() -> dict[str, str]:
    """Constraint name → the refusal it stands for, as the models say."""
    return {
        constraint.name: constraint.violation_error_code or ""
        for model in apps.get_app_config("studiodesk").get_models()
        for constraint in model._meta.constraints
        if isinstance(constraint, NoOverlap)
    }


def _once(work: Callable[[], T]) -> T:
    try:
        with transaction.atomic():
            return work()
    except IntegrityError as error:
        code = _codes().get(violated_constraint(error) or "")
        if not code:
            raise
        raise Refused(Refusal(code)) from error


@contextmanager
def _in_line() -> Iterator[None]:
    """On SQLite, stand in a line for the one writer.

    SQLite's own busy handler sleeps longer and longer, so under a rush somebody unlucky waits for seconds; a lock on a
    file beside the database is handed on as soon as it is free.  It decides nothing: without it only the waiting
    would differ.  After ``PATIENCE_S`` the database is ``Busy``.
    """
    name = str(connection.settings_dict["NAME"])
    if connection.vendor != "sqlite" or ":memory:" in name or "mode=memory" in name:
        yield
        return
    line = os.open(f"{name}.queue", os.O_CREAT | os.O_RDWR | os.O_CLOEXEC, 0o660)
    try:
        fcntl.flock(line, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        line = _wait_for(line)
    try:
        yield
    finally:
        os.close(line)


def _wait_for(line: int) -> int:
    """``flock`` cannot be told how long to wait, so a thread waits; if it comes too late it lets go at once."""
    turn = threading.Event()
    late = threading.Event()
    door = threading.Lock()

    def wait() -> None:
        fcntl.flock(line, fcntl.LOCK_EX)
        with door:
            turn.set()
            if late.is_set():
                os.close(line)

    threading.Thread(target=wait, daemon=True).start()
    if not turn.wait(PATIENCE_S):
        with door:
            if not turn.is_set():
                late.set()
                raise Busy
    return line


def carry_out(work: Callable[[], T]) -> T:
    """Run ``work`` in a transaction; the outermost one is tried up to five times.  Raises ``Busy`` after that."""
    if connection.in_atomic_block:
        return _once(work)
    begun = time.monotonic()
    for turn in range(TRIES):
        try:
            with _in_line():
                return _once(work)
        except OperationalError as error:
            if not is_worth_retrying(error):
                raise
            if turn == TRIES - 1 or time.monotonic() - begun > PATIENCE_S:
                raise Busy from error
        time.sleep(random.uniform(0.005, 0.04) * 2**turn)  # noqa: S311
    raise AssertionError("unreachable")


def act(function: Callable[P, T]) -> Callable[P, T]:
    """Make ``function`` an act: all of it happens or none of it."""

    @wraps(function)
    def run(*args: P.args, **kwargs: P.kwargs) -> T:
        return carry_out(lambda: function(*args, **kwargs))

    return run


def locked(queryset: Any, of: str = "self") -> Any:
    """``queryset`` with its rows locked until the transaction ends (on SQLite the transaction is the lock).

    Of a joined query the rows of ``of`` alone: two tables locked by one query and by another one only the second make
    a ring of waiting.
    """
    if connection.features.has_select_for_no_key_update:
        return queryset.select_for_update(no_key=True, of=(of,))
    return queryset
