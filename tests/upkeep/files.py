"""Files to load in tests: the example, and small ones written on the spot."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.apps import apps

from studiodesk.upkeep.actions import ImportOutcome, import_history, load_studio
from studiodesk.upkeep.rules.problems import FileRefused
from studiodesk.upkeep.words import told

ROOT = Path(__file__).resolve().parents[2]
OSTERMILL = ROOT / "examples" / "ostermill"
HISTORY = ("members.csv", "bookings.csv", "feeds.csv", "bath_events.csv", "strips.csv")
NOW = datetime(2026, 11, 25, 14, 0, tzinfo=UTC)

MEMBERS = b"number,name,email,joined_on\nM1,Saar,saar@example.org,2026-01-15\nM2,Teun,teun@example.org,2026-01-15\n"
BOOKINGS = b"reference,member,station,process,start,end,made_at,cancelled_at,arrived_at\n"
FEEDS = b"fed_at,processor,member,booking,sheet,sheets,kind\n"
EVENTS = b"at,processor,bath,event,ml,note\n"
STRIPS = b"read_at,processor,patch,channel,aim,reading\n"
BOOKING = b"B1,M1,E1,rc,2026-08-04T14:00:00Z,2026-08-04T16:00:00Z,2026-08-01T10:00:00Z,,\n"
FEED = b"2026-08-04T15:00:00Z,P-RC,M1,B1,203x254,2,print\n"


def example(name: str) -> bytes:
    return (OSTERMILL / name).read_bytes()


def quarter() -> dict[str, bytes]:
    return {name: example(name) for name in HISTORY}


def loaded(data: bytes | None = None, **options: Any) -> Any:
    """The example's studio (or another) in the database of the test."""
    return load_studio(data=example("studio.toml") if data is None else data, now=NOW, **options)


def imported(files: Mapping[str, bytes], **options: Any) -> ImportOutcome:
    return import_history(files=files, now=NOW, **options)


def sentences(outcome: ImportOutcome) -> list[str]:
    """Everything that was said about what is wrong."""
    return [told(problem) for file in outcome.files if file.refused for problem in file.refused.problems]


def refusals(data: bytes) -> list[str]:
    """What is said about a studio that cannot be loaded; fails if it can."""
    try:
        load_studio(data=data, now=NOW)
    except FileRefused as refused:
        return [told(problem) for problem in refused.problems]
    raise AssertionError("the studio was loaded")


def contents() -> dict[str, tuple[int, str]]:
    """Table → how many rows, and a checksum over every column of them."""
    out = {}
    for model in apps.get_app_config("studiodesk").get_models(include_auto_created=True):
        names = [field.attname for field in model._meta.concrete_fields]
        rows = [repr(row) for row in model._default_manager.order_by("pk").values_list(*names)]
        out[model._meta.label] = (len(rows), hashlib.sha256("\n".join(rows).encode()).hexdigest())
    return out


def manage(*words: object, fails: bool = False) -> subprocess.CompletedProcess[str]:
    """A command in a process of its own, on the database that ``DATABASE_URL`` names."""
    done = subprocess.run(
        [sys.executable, ROOT / "manage.py", *map(str, words)],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
        timeout=120,
    )
    assert (done.returncode != 0) == fails, done.stdout + done.stderr
    return done
