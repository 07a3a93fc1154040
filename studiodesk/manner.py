"""How this house writes times and sizes: hours of a clock's round, and metric or inch.  Pure.

It stands around a request, a letter or a command as the current time zone does, so that a sentence deep below need not
be handed it.  Volumes are always mL and L: the graduates, the pumps and the suppliers' rates are.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import time

#: The languages of the interface, each by its own name; the first is the one that everything is written in.
LANGUAGES = {"en-gb": "English", "de": "Deutsch"}
CLOCKS = ("24", "12")
UNITS = ("metric", "inch")


@dataclass(frozen=True)
class Manner:
    """``half_days``: 2:45 pm, not 14:45.  ``inches``: inches and square feet, not centimetres and square metres."""

    half_days: bool = False
    inches: bool = False


_PLAIN = Manner()
_manner: ContextVar[Manner] = ContextVar("manner", default=_PLAIN)


def of(clock: str, units: str) -> Manner:
    """The manner that a studio chose, as its row keeps it."""
    return Manner(half_days=clock == "12", inches=units == "inch")


def current() -> Manner:
    return _manner.get()


@contextmanager
def override(manner: Manner) -> Iterator[None]:
    """Inside it ``current()`` is ``manner``."""
    before = _manner.set(manner)
    try:
        yield
    finally:
        _manner.reset(before)


def in_half_days(at: time) -> tuple[int, bool]:
    """The hour on a clock of twelve, and whether it is after noon.

    Midnight is 12 am and noon 12 pm: common practice in English, no standard (ISO 8601 knows 24 hours only).
    """
    return at.hour % 12 or 12, at.hour >= 12
