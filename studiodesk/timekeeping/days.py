"""Local days of the studio and what the clock changes do to them.  Pure.

A day of the studio is the span between two local midnights: 23, 24 or 25 hours long.  Durations are always
reckoned in UTC; a wall-clock time becomes UTC only by way of ``localise``.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from .spans import Span


class MissingTime(ValueError):
    """The local time does not exist: the clock jumps over it that day."""


def is_missing(naive: datetime, zone: ZoneInfo) -> bool:
    """True if the clock jumps over this wall time (spring)."""
    there = naive.replace(tzinfo=zone, fold=0)
    return there.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != naive


def localise(naive: datetime, zone: ZoneInfo, *, strict: bool = False) -> datetime:
    """The UTC moment of a wall-clock time.

    A time that happens twice is the first of the two.  A missing time moves forward by the gap; with ``strict``
    (forms) it raises ``MissingTime`` instead.
    """
    if is_missing(naive, zone) and strict:
        raise MissingTime(naive.isoformat())
    # fold=0 takes the first of two, and for a missing time the offset before the jump: forward by the gap.
    return naive.replace(tzinfo=zone, fold=0).astimezone(UTC)


def studio_day(moment: datetime, zone: ZoneInfo) -> date:
    """The studio's local date at ``moment``."""
    return moment.astimezone(zone).date()


def day_span(day: date, zone: ZoneInfo) -> Span:
    """The studio's local day as a UTC span."""
    return Span(
        localise(datetime.combine(day, time()), zone),
        localise(datetime.combine(day + timedelta(days=1), time()), zone),
    )


def days_shifted(moment: datetime, days: int, zone: ZoneInfo) -> datetime:
    """``moment`` moved by whole days of local time: the wall clock reads the same, whatever UTC does."""
    naive = moment.astimezone(zone).replace(tzinfo=None)
    return localise(naive + timedelta(days=days), zone)


def week_shifted(moment: datetime, weeks: int, zone: ZoneInfo) -> datetime:
    """The same by whole weeks."""
    return days_shifted(moment, 7 * weeks, zone)


def whole_days_between(earlier: date, later: date) -> int:
    """How many whole local days lie strictly between two dates (0 for the same or the next day)."""
    return max(0, (later - earlier).days - 1)
