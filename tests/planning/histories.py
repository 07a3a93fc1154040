"""A studio's files as they were at a moment, and what is foretold from them."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from functools import partial
from typing import Any

import time_machine
from django.core.management import call_command
from django.db import transaction

from studiodesk.planning.queries import foretell
from studiodesk.upkeep.actions import import_history, load_studio

#: File → the column of the moment on which a row happened, and those that may still be blank then.
HAPPENED: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "bookings.csv": ("made_at", ("cancelled_at", "arrived_at")),
    "feeds.csv": ("fed_at", ()),
    "bath_events.csv": ("at", ()),
    "strips.csv": ("read_at", ()),
}


def changed(data: bytes, change: Callable[[dict[str, str]], dict[str, str] | None]) -> bytes:
    """The file with each row as ``change`` answers it, None for a row that goes."""
    rows = csv.DictReader(io.StringIO(data.decode("utf-8-sig"), newline=""))
    text = io.StringIO()
    writer = csv.DictWriter(text, rows.fieldnames or [], lineterminator="\n")
    writer.writeheader()
    writer.writerows(new for new in map(change, rows) if new is not None)
    return text.getvalue().encode()


def cut(files: Mapping[str, bytes], at: datetime) -> dict[str, bytes]:
    """What the same files would have said at ``at``: nothing in them happened later."""

    def later(text: str | None) -> bool:
        return bool(text) and datetime.fromisoformat(text or "") > at

    def as_it_was(row: dict[str, str], when: str, still_open: tuple[str, ...]) -> dict[str, str] | None:
        blank = {name: "" for name in still_open if later(row.get(name))}
        return None if later(row[when]) else row | blank

    out = dict(files)
    for name, (when, still_open) in HAPPENED.items():
        if name in files:
            out[name] = changed(files[name], partial(as_it_was, when=when, still_open=still_open))
    return out


class InAnotherDatabase:
    """``with InAnotherDatabase(): …`` what is written inside is gone afterwards."""

    def __enter__(self) -> None:
        self.atomic = transaction.atomic()
        self.atomic.__enter__()

    def __exit__(self, *_: Any) -> None:
        transaction.set_rollback(True)
        self.atomic.__exit__(None, None, None)


def take_in(studio: bytes, files: Mapping[str, bytes], now: datetime) -> None:
    """Load and import; fails if a file was refused."""
    load_studio(data=studio, now=now)
    outcome = import_history(files=files, now=now)
    assert not [file for file in outcome.files if file.refused or file.waits_for], outcome


def printed(at: datetime) -> list[dict[str, Any]]:
    """What ``manage.py forecast --json --at`` prints a year later."""
    out = io.StringIO()
    with time_machine.travel(at + timedelta(days=365), tick=False):
        call_command("forecast", "--json", "--at", at.isoformat(), stdout=out)
    answer: list[dict[str, Any]] = json.loads(out.getvalue())
    return answer


def to_the_last_digit(at: datetime) -> list[Any]:
    """Every figure behind the forecast, unrounded."""
    return [
        (told.of.processor, told.of.bath, told.course.mean, told.course.variance, told.course.idle_days,
         told.course.idle_variance, told.passage.reached, told.passage.first_limit, told.tank.rooms)
        for told in foretell(at, live=False)
    ]  # fmt: skip
