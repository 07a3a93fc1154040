"""Bookings that recur: the same wall-clock time every so many weeks.  Pure.

The rule is local, the bookings are not: each occurrence is expanded as a naive local time, localised, and then lasts
its length in UTC.  A local time that the clock jumps over moves forward by the gap and is marked, so that somebody can
be told; of one that happens twice the first is meant.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from studiodesk.answers import Refusal
from studiodesk.timekeeping import Span, is_missing, localise

MINUTE = timedelta(minutes=1)
MOST_WEEKS_APART = 8
#: Which of a series' bookings a change or cancellation is for.
THIS, FOLLOWING, ALL = "this", "following", "all"
SCOPES = (THIS, FOLLOWING, ALL)


@dataclass(frozen=True)
class Recurrence:
    """Every ``every_weeks`` weeks from ``first_day`` to ``last_day``, at ``begins_minute`` after local midnight."""

    first_day: date
    last_day: date
    every_weeks: int
    begins_minute: int
    length: timedelta


@dataclass(frozen=True)
class Occurrence:
    """One of them.  ``shifted``: its local time does not exist that day, and it begins later by the gap."""

    day: date
    span: Span
    shifted: bool = False


def at_minute(day: date, minute: int) -> datetime:
    """The naive local time so many minutes of the clock after midnight."""
    return datetime.combine(day, time()) + minute * MINUTE


def occurrence(day: date, begins_minute: int, length: timedelta, zone: ZoneInfo) -> Occurrence:
    naive = at_minute(day, begins_minute)
    starts = localise(naive, zone)
    return Occurrence(day, Span(starts, starts + length), is_missing(naive, zone))


def occurrences(of: Recurrence, zone: ZoneInfo, most: int) -> list[Occurrence]:
    """All of them in order, but no more than ``most`` and one: enough to see that there are too many."""
    found: list[Occurrence] = []
    day = of.first_day
    while day <= of.last_day and len(found) <= most:
        found.append(occurrence(day, of.begins_minute, of.length, zone))
        day += timedelta(weeks=of.every_weeks)
    return found


def may_recur(of: Recurrence, count: int, most: int) -> Refusal | None:
    """Does the rule make sense, and does the house take so many at once?"""
    if not 1 <= of.every_weeks <= MOST_WEEKS_APART:
        return Refusal("bookings.series_apart", {"most": MOST_WEEKS_APART})
    if of.last_day < of.first_day:
        return Refusal("bookings.series_ends_early", {"first_day": of.first_day})
    if count < 2:
        return Refusal("bookings.series_of_one", {"last_day": of.first_day + timedelta(weeks=of.every_weeks)})
    if count > most:
        last = of.first_day + timedelta(weeks=of.every_weeks * (most - 1))
        return Refusal("bookings.series_too_long", {"most": most, "last_day": last})
    return None


@dataclass(frozen=True)
class Clash:
    """An occurrence that cannot be, and why."""

    day: date
    span: Span
    refusal: Refusal


def clashes_refusal(clashes: Sequence[Clash], of: int) -> Refusal | None:
    """All of them are told at once; nothing was booked."""
    if not clashes:
        return None
    days = [clash.day for clash in clashes]
    return Refusal("bookings.series_clashes", {"count": len(clashes), "of": of, "days": days, "clashes": list(clashes)})


def reached(starts: Iterable[tuple[int, datetime]], chosen: datetime, scope: str, now: datetime) -> list[int]:
    """The keys of the bookings that ``scope`` means, seen from the one that begins at ``chosen``; begun ones never."""
    ahead = [(key, at) for key, at in starts if at > now]
    if scope == THIS:
        return [key for key, at in ahead if at == chosen]
    if scope == FOLLOWING:
        return [key for key, at in ahead if at >= chosen]
    return [key for key, _at in ahead]
