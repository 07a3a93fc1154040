"""Small days and baths with the attributes that the tags read."""

from __future__ import annotations

from datetime import datetime, timedelta
from types import SimpleNamespace
from typing import Any
from zoneinfo import ZoneInfo

from django.template import engines
from django.utils import timezone

from studiodesk.bookings.rules.day import DayLine, Step, Stretch, Wedge

ZONE = ZoneInfo("Europe/Amsterdam")


def at(hour: int, minute: int = 0) -> datetime:
    return datetime(2026, 11, 27, hour, minute, tzinfo=ZONE)


def stretch(starts: datetime, ends: datetime, what: str, **more: Any) -> Stretch:
    return Stretch(starts, ends, what, **more)


def line(*stretches: Stretch, code: str = "E1", name: str = "Booth 1", kind: str = "enlarger booth") -> DayLine:
    return DayLine(code, name, kind, "Condenser", stretches)


def steps(*rows: tuple[int, int, int, int]) -> Wedge:
    """A wedge from (from hour, to hour, free, of)."""
    made = tuple(Step(at(a), at(b), free, of, f"/day?at={a}") for a, b, free, of in rows)
    return Wedge("enlarger booth", max(row[3] for row in rows), made, "/kind")


def bath(used: float, word: str, limit: str | None) -> SimpleNamespace:
    return SimpleNamespace(processor="P-RC", bath="fix", name="Fixer", used=used, word=word, limit=limit, parts={})


def drawn(source: str, **context: Any) -> str:
    """A template's text drawn in the studio's zone."""
    with timezone.override(ZONE):
        return engines["django"].from_string("{% load look %}" + source).render(context)


QUARTER = timedelta(minutes=15)
