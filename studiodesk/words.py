"""The sentences of the house: every refusal code with what is said and the way on.

Each area's ``words.py`` registers its own; ``say`` puts the facts in.  Times are shown in the studio's zone (the
current time zone of the request), so rules never format anything.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.utils import timezone
from django.utils.formats import number_format
from django.utils.functional import Promise
from django.utils.translation import gettext

from .answers import Refusal
from .dates import clock, written
from .sizes import edge_words
from .units import Edge


@dataclass(frozen=True)
class Words:
    """A sentence with named places, and what the person can do next (may be empty)."""

    sentence: str | Promise
    way_on: str | Promise = ""


@dataclass(frozen=True)
class Said:
    sentence: str
    way_on: str
    code: str

    def __str__(self) -> str:
        return f"{self.sentence} {self.way_on}".strip()


_WORDS: dict[str, Words] = {}


def register(words: Mapping[str, Words]) -> None:
    """Take in an area's sentences; a code may be said in one place only (``ValueError``)."""
    for code, said in words.items():
        if code in _WORDS and _WORDS[code] is not said:
            raise ValueError(f"{code} has two sentences")
        _WORDS[code] = said


def known_codes() -> frozenset[str]:
    return frozenset(_WORDS)


def length_words(length: timedelta) -> str:
    """``3 h 15 min``, ``45 min``, ``2 h``."""
    minutes = int(length.total_seconds()) // 60
    hours, rest = divmod(minutes, 60)
    if not hours:
        return gettext("%(minutes)d min") % {"minutes": rest}
    if not rest:
        return gettext("%(hours)d h") % {"hours": hours}
    return gettext("%(hours)d h %(minutes)d min") % {"hours": hours, "minutes": rest}


def money_words(minor: int, digits: int, currency: str) -> str:
    """ "12.40 EUR": an amount in the smallest unit of a currency that has so many digits behind the point."""
    figure = number_format(Decimal(minor) / 10**digits, digits, force_grouping=True)
    return gettext("%(amount)s %(currency)s") % {"amount": figure, "currency": currency}


def fact_words(value: Any) -> Any:
    """A fact as a person reads it: local date and time, list joined by commas, numbers as they are."""
    if isinstance(value, datetime):
        local = timezone.localtime(value)
        return f"{written(local, 'l j F')} {clock(local)}"
    if isinstance(value, date):
        return written(value, "l j F Y")
    if isinstance(value, timedelta):
        return length_words(value)
    if isinstance(value, Edge):
        return edge_words(value)
    if isinstance(value, (list, tuple)):
        return ", ".join(str(fact_words(item)) for item in value)
    return value


def say(refusal: Refusal) -> Said:
    """The refusal in words.  A code without a sentence is a bug that a test finds; ``KeyError`` here."""
    words = _WORDS[refusal.code]
    facts = {name: fact_words(value) for name, value in refusal.facts.items()}
    # The facts first: a sentence in the singular or the plural is chosen by a number among them.
    return Said(str(words.sentence % facts), str(words.way_on % facts), refusal.code)
