"""Finding a free time: sweep the free spans of one day at a time.  Pure.

The answer is advice: the act looks again and decides.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from studiodesk.timekeeping import Span, merged, without

from .asking import next_on_grid

UTC_ZONE = ZoneInfo("UTC")
MINUTE = timedelta(minutes=1)


@dataclass(frozen=True)
class Place:
    """A processor that can serve: ``full`` are the spans without a free place, ``not_before`` when it can be warm."""

    key: int
    full: Sequence[Span] = ()
    not_before: datetime | None = None


@dataclass(frozen=True)
class Candidate:
    """A station on one day.  ``shut`` are spans in which the light of its zone is of the other kind."""

    key: int
    taken: Sequence[Span]
    set_up: timedelta = timedelta(0)
    clear_up: timedelta = timedelta(0)
    shut: Sequence[Span] = ()


@dataclass(frozen=True)
class Wish:
    """What is looked for.  ``places`` is None when no process is asked, else the processors that run it.

    Times lie on the ``grid`` of the wall clock of ``zone``; ``crowded`` are the spans in which the house is full.
    """

    length: timedelta
    grid: timedelta
    not_before: datetime
    places: Sequence[Place] | None = None
    zone: ZoneInfo = UTC_ZONE
    crowded: Sequence[Span] = ()


@dataclass(frozen=True)
class Offer:
    """A station to be had for the wished length, beginning at ``first`` or at any grid time up to ``last``."""

    station: int
    place: int | None
    first: datetime
    last: datetime
    length: timedelta

    @property
    def ends(self) -> datetime:
        return self.first + self.length

    def starts(self, grid: timedelta) -> Iterator[datetime]:
        at = self.first
        while at <= self.last:
            yield at
            at += grid


@dataclass(frozen=True)
class _Gaps:
    """Free spans with a quick look-up of the one that covers a span."""

    spans: Sequence[Span]
    starts: list[datetime] = field(default_factory=list)

    def covers(self, starts: datetime, ends: datetime) -> bool:
        at = bisect_right(self.starts, starts) - 1
        return at >= 0 and self.spans[at].ends >= ends


def _gaps(opened: Sequence[Span], taken: Iterable[Span]) -> _Gaps:
    spans = without(opened, taken)
    return _Gaps(spans, [span.starts for span in spans])


def _serving(places: Sequence[tuple[Place | None, _Gaps]], starts: datetime, ends: datetime) -> tuple[bool, int | None]:
    """Whether the stay is served, and the key of the first processor with a place for it (None: none is asked)."""
    for place, room in places:
        if place is not None and place.not_before is not None and starts < place.not_before:
            continue
        if room.covers(starts, ends):
            return True, None if place is None else place.key
    return False, None


@dataclass(frozen=True)
class _Ladder:
    """The moments of a day at which a stay may begin or end: reckoned once for all stations, not once for each."""

    rungs: list[datetime]
    known: frozenset[datetime]

    def from_(self, moment: datetime) -> Iterator[datetime]:
        return iter(self.rungs[bisect_left(self.rungs, moment) :])


def _ladder(opened: Sequence[Span], grid: timedelta, zone: ZoneInfo) -> _Ladder:
    rungs: list[datetime] = []
    for span in opened:
        at = next_on_grid(span.starts, grid, zone)
        while at <= span.ends:
            rungs.append(at)
            at = next_on_grid(at + MINUTE, grid, zone)
    return _Ladder(rungs, frozenset(rungs))


def offers_of_a_day(opened: Sequence[Span], stations: Sequence[Candidate], wish: Wish) -> list[Offer]:
    """Every offer inside ``opened``, earliest first; stations of equal time in the order given.

    The station must be free from set-up to clear-up inside the opening hours, the house must have room, and one
    processor must have a place for the whole stay, beginning no earlier than it can be warm.
    """
    opened = merged(opened)
    places: list[tuple[Place | None, _Gaps]]
    if wish.places is None:
        places = [(None, _gaps(opened, ()))]
    else:
        places = [(place, _gaps(opened, place.full)) for place in wish.places]
    found: list[Offer] = []
    ladder = _ladder(opened, wish.grid, wish.zone)
    house = _gaps(opened, wish.crowded)
    for station in stations:
        room = _gaps(opened, [*station.shut, *wish.crowded]) if station.shut else house
        for gap in _gaps(opened, station.taken).spans:
            found += _offers_in(gap, station, room, places, wish, ladder)
    order = {station.key: index for index, station in enumerate(stations)}
    return sorted(found, key=lambda offer: (offer.first, order[offer.station]))


def _offers_in(
    gap: Span,
    station: Candidate,
    room: _Gaps,
    places: Sequence[tuple[Place | None, _Gaps]],
    wish: Wish,
    ladder: _Ladder,
) -> Iterator[Offer]:
    """The offers of one station within one gap; a run ends where the place changes or the clock does."""
    run: Offer | None = None
    for at in ladder.from_(max(gap.starts + station.set_up, wish.not_before)):
        ends = at + wish.length
        if ends + station.clear_up > gap.ends:
            break
        served, place = False, None
        if ends in ladder.known and room.covers(at, ends):
            served, place = _serving(places, at, ends)
        if run is not None and (not served or run.place != place or run.last + wish.grid != at):
            yield run
            run = None
        if served:
            run = Offer(station.key, place, at if run is None else run.first, at, wish.length)
    if run is not None:
        yield run
