"""Where a booking that cannot stay is best moved to.  Pure.

The same time at an equal station is best, then the nearest time of that day, then the nearest day.  Whoever would have
to come earlier than they booked is asked for it only with a day's notice.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from studiodesk.timekeeping import Span, studio_day

from .needs import Traits
from .places import peak

SHOWN = 3
NOTICE_OF_EARLIER = timedelta(hours=24)

SAME_TIME, WITHOUT_KIT, SAME_DAY, OTHER_DAY = "same time", "without kit", "same day", "other day"
TIERS = (SAME_TIME, WITHOUT_KIT, SAME_DAY, OTHER_DAY)


def is_equal(other: Traits, station: Traits, process: str | None) -> bool:
    """Can ``other`` do everything that somebody who booked ``station`` for ``process`` could count on?"""
    return (
        other.kind == station.kind
        and set(other.formats) >= set(station.formats)
        and (not station.light_source or other.light_source == station.light_source)
        and (process in other.processes if process is not None else not other.processes)
        and (other.step_free or not station.step_free)
        and (other.has_colour_filters or not station.has_colour_filters)
        and _prints_as_large(other.largest_print_mm, station.largest_print_mm)
    )


def _prints_as_large(other: tuple[int, int] | None, station: tuple[int, int] | None) -> bool:
    """A station of which nobody said how large it prints is not held to be smaller."""
    return station is None or other is None or (other[0] >= station[0] and other[1] >= station[1])


@dataclass(frozen=True)
class Share:
    """So much of something that several can have at once: ``takes`` of it, and ``left`` are free throughout."""

    key: str
    span: Span
    takes: int
    left: int


@dataclass(frozen=True)
class Spot:
    """A station and a time that would do.  ``whole``: with set-up and clear-up; ``room`` and ``light`` if shared."""

    station: int
    span: Span
    whole: Span
    without_kit: bool = False
    room: int | None = None
    light: str = ""
    shares: tuple[Share, ...] = field(default=())


@dataclass(frozen=True)
class Was:
    """The booking as it stands."""

    station: int
    span: Span


def why(was: Was, spot: Spot, zone: ZoneInfo) -> str:
    """What speaks for the spot: one of ``TIERS``."""
    if spot.span == was.span:
        return WITHOUT_KIT if spot.without_kit else SAME_TIME
    same = studio_day(spot.span.starts, zone) == studio_day(was.span.starts, zone)
    return SAME_DAY if same else OTHER_DAY


def may_be_asked(was: Was, starts: datetime, now: datetime) -> bool:
    """Nobody is made to come earlier at short notice, and what has begun keeps its beginning."""
    if was.span.starts <= now:
        return starts == was.span.starts
    return starts >= was.span.starts or starts >= now + NOTICE_OF_EARLIER


def ranked(was: Was, spots: Iterable[Spot], now: datetime, zone: ZoneInfo) -> list[Spot]:
    """The spots that may be asked of somebody, the best first."""

    def order(spot: Spot) -> tuple[int, int, timedelta, bool, datetime, int]:
        days = abs((studio_day(spot.span.starts, zone) - studio_day(was.span.starts, zone)).days)
        wall = timedelta() if spot.span == was.span else clock_shift(was.span.starts, spot.span.starts, zone)
        other = spot.station != was.station
        return TIERS.index(why(was, spot, zone)), days, wall, other, spot.span.starts, spot.station

    return sorted((spot for spot in spots if may_be_asked(was, spot.span.starts, now)), key=order)


def clock_shift(one: datetime, other: datetime, zone: ZoneInfo) -> timedelta:
    """How far apart the two stand on the clock of their days: 14:00 and 15:00 of another day are an hour apart."""
    walls = [moment.astimezone(zone).replace(tzinfo=None) for moment in (one, other)]
    times = [wall - wall.replace(hour=0, minute=0, second=0, microsecond=0) for wall in walls]
    return abs(times[0] - times[1])


def fits_beside(spot: Spot, given: Sequence[Spot]) -> bool:
    """True if the spot can be had when all of ``given`` are taken too."""
    for other in given:
        if other.station == spot.station and other.whole.overlaps(spot.whole):
            return False
        unlike = spot.room is not None and other.room == spot.room and other.light != spot.light
        if unlike and other.span.overlaps(spot.span):
            return False
    for share in spot.shares:
        taken = [one.span for other in given for one in other.shares for _ in range(one.takes) if one.key == share.key]
        if peak(taken, share.span) + share.takes > share.left:
            return False
    return True


def assigned(parties: Sequence[Sequence[Spot]]) -> list[list[Spot]]:
    """For each party, in the order given, what is left of its spots beside what the parties before it get.

    The first of each list is theirs, so that nothing is promised twice; an empty list: nothing is left for them.
    """
    given: list[Spot] = []
    out: list[list[Spot]] = []
    for spots in parties:
        left = [spot for spot in spots if fits_beside(spot, given)]
        given += left[:1]
        out.append(left)
    return out
