"""What a group keeps together: the best set of stations and places, or everything that stands in the way.  Pure.

Stations are matched to needs by augmenting paths (Kuhn's method for bipartite matching), so that two needs which could
both take one station find a set if there is any; which station of several is taken is a matter of preference only.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from itertools import product

from studiodesk.timekeeping import Span

from .places import Piece, peak, weave_many

ZERO = timedelta(0)


@dataclass(frozen=True)
class Spot:
    """A station that could be kept: when it is taken, and which room its light is shared in (None: one of its own).

    ``lights``: light → when its room is kept in that light.  ``heads``: how many people may be at it.
    """

    key: int
    name: str
    kind: str
    processes: frozenset[str] = frozenset()
    taken: Sequence[Span] = ()
    set_up: timedelta = ZERO
    clear_up: timedelta = ZERO
    room: int | None = None
    lights: Mapping[str, Sequence[Span]] = field(default_factory=dict)
    heads: int | None = None


@dataclass(frozen=True)
class StationNeed:
    """``number`` stations of ``kind`` that do ``process`` (a code; None: whatever they do), in ``light`` if any."""

    kind: str
    number: int
    process: str | None = None
    light: str | None = None

    def suits(self, spot: Spot) -> bool:
        return spot.kind == self.kind and (self.process is None or self.process in spot.processes)


@dataclass(frozen=True)
class Machine:
    """A processor and when each of its lanes is taken."""

    key: int
    name: str
    lanes: Sequence[Sequence[Span]]


@dataclass(frozen=True)
class PlacesNeed:
    """``number`` places at one machine of a process, 0 for all that it has; the first that has them is taken.

    Two needs never share a machine: two of them with 0 are both machines of a process.
    """

    name: str
    machines: Sequence[Machine]
    number: int = 0

    def wanted_at(self, machine: Machine) -> int:
        return self.number or len(machine.lanes)


@dataclass(frozen=True)
class Wish:
    """One time at which a group wants to come.

    ``rooms``: room → how many people may be in it (None: no figure); ``in_rooms``: room → a span for each other head.
    """

    span: Span
    before: timedelta = ZERO
    after: timedelta = ZERO
    heads: int = 0
    stations: Sequence[StationNeed] = ()
    places: Sequence[PlacesNeed] = ()
    rooms: Mapping[int, int | None] = field(default_factory=dict)
    in_rooms: Mapping[int, Sequence[Span]] = field(default_factory=dict)
    heads_at_once: int | None = None
    others_in: Sequence[Span] = ()
    closed_because: str | None = None

    @property
    def whole(self) -> Span:
        """With preparation and clear-up."""
        return self.span.widened(self.before, self.after)

    def kept(self, spot: Spot) -> Span:
        """A station's own set-up and clear-up are part of the group's, not on top of it."""
        return self.span.widened(max(self.before, spot.set_up), max(self.after, spot.clear_up))

    def room_left(self, room: int) -> int | None:
        """How many more people the room takes at every instant; None: it has no figure."""
        limit = self.rooms.get(room)
        return None if limit is None else max(limit - peak(self.in_rooms.get(room, ()), self.span), 0)


@dataclass(frozen=True)
class Clash:
    """One thing that stands in the way: what (a code of ``words``), of which thing, how many wanted and to be had.

    ``keys`` are the resources whose holds are in the way.
    """

    what: str
    name: str = ""
    wanted: int = 0
    free: int = 0
    keys: tuple[int, ...] = ()


@dataclass(frozen=True)
class Fit:
    """What would be kept: station → when; processor → pieces.  With any clash nothing is."""

    stations: Mapping[int, Span] = field(default_factory=dict)
    places: Mapping[int, Sequence[Piece]] = field(default_factory=dict)
    lights: Mapping[int, str] = field(default_factory=dict)
    clashes: tuple[Clash, ...] = ()


def _is_free(spot: Spot, wish: Wish, light: str | None) -> bool:
    if any(span.overlaps(wish.kept(spot)) for span in spot.taken):
        return False
    if spot.room is None or light is None:
        return True
    unlike = (span for other, many in spot.lights.items() if other != light for span in many)
    return not any(span.overlaps(wish.span) for span in unlike)


def preferred(spots: Iterable[Spot], number: int) -> list[Spot]:
    """In the order in which they are taken: as few rooms as can be, for one person has to see to all of them.

    Of the rooms that are large enough the smallest, so that the larger ones stay free for others; in a room what does
    the fewest processes first.  A station in a room of its own is a room of one.
    """
    rooms: dict[tuple[int, int], list[Spot]] = defaultdict(list)
    for spot in spots:
        rooms[(0, spot.room) if spot.room is not None else (1, spot.key)].append(spot)
    out: list[Spot] = []
    left = sorted(rooms.items())
    while left:
        still = max(number - len(out), 1)
        enough = [one for one in left if len(one[1]) >= still]
        best = min(enough, key=_rank) if enough else max(left, key=lambda one: len(one[1]))
        left.remove(best)
        out += sorted(best[1], key=lambda spot: (len(spot.processes), spot.key))
    return out


def _rank(room: tuple[tuple[int, int], list[Spot]]) -> tuple[int, int, tuple[int, int]]:
    return len(room[1]), min(len(spot.processes) for spot in room[1]), room[0]


def match(needs: Sequence[StationNeed], free: Sequence[Sequence[Spot]]) -> list[list[Spot]]:
    """For each need as many of its ``free`` spots as can be had, none used twice, together as many as there can be."""
    has: dict[int, int] = {}  # spot → the slot that has it
    by_key = {spot.key: spot for many in free for spot in many}
    slots = [index for index, need in enumerate(needs) for _ in range(need.number)]
    order = [preferred(many, need.number) for need, many in zip(needs, free, strict=True)]

    def give(slot: int, seen: set[int]) -> bool:
        for spot in order[slots[slot]]:
            if spot.key in seen:
                continue
            seen.add(spot.key)
            if spot.key not in has or give(has[spot.key], seen):
                has[spot.key] = slot
                return True
        return False

    for slot in range(len(slots)):
        give(slot, set())
    found: list[list[Spot]] = [[] for _ in needs]
    for key, slot in sorted(has.items()):
        found[slots[slot]].append(by_key[key])
    return found


def _lightings(needs: Sequence[StationNeed], spots: Sequence[Spot]) -> Iterator[dict[int, str]]:
    """Every way of keeping the shared rooms in one of the lights that are asked for; one light: one way."""
    lights = sorted({need.light for need in needs if need.light is not None})
    rooms = sorted({spot.room for spot in spots if spot.room is not None})
    for way in product(lights, repeat=len(rooms)) if lights else [()]:
        yield dict(zip(rooms, way, strict=False))


def _stations(wish: Wish, spots: Sequence[Spot]) -> list[list[Spot]]:
    best: list[list[Spot]] = [[] for _ in wish.stations]
    for lit in _lightings(wish.stations, spots):
        free = [
            [
                spot
                for spot in spots
                if need.suits(spot)
                and (need.light is None or spot.room is None or lit[spot.room] == need.light)
                and _is_free(spot, wish, need.light)
            ]
            for need in wish.stations
        ]
        found = match(wish.stations, free)
        if sum(map(len, found)) > sum(map(len, best)):
            best = found
        if all(len(got) == need.number for got, need in zip(found, wish.stations, strict=True)):
            break
    return best


def _room_clash(wish: Wish, chosen: Sequence[Spot]) -> Clash | None:
    """Do its rooms together hold its heads beside whoever else is in them?  One without a figure holds any number."""
    rooms = {spot.room for spot in chosen if spot.room is not None}
    limits = [wish.room_left(room) for room in rooms] + [spot.heads for spot in chosen if spot.room is None]
    known = [limit for limit in limits if limit is not None]
    if not chosen or len(known) < len(limits) or wish.heads <= sum(known):
        return None
    return Clash("room", ", ".join(spot.name for spot in chosen), wish.heads, sum(known))


def _stations_with_room(wish: Wish, spots: Sequence[Spot]) -> list[list[Spot]]:
    """As ``_stations``, but where others leave too little of a room, without that room if there is enough besides."""
    first = found = _stations(wish, spots)
    left = list(spots)
    while _room_clash(wish, [spot for got in found for spot in got]) is not None:
        rooms = {spot.room for got in found for spot in got if spot.room is not None}
        tight = {room: wish.room_left(room) or 0 for room in rooms if peak(wish.in_rooms.get(room, ()), wish.span)}
        if not tight:
            return first
        gone = min(tight, key=lambda room: (tight[room], room))
        left = [spot for spot in left if spot.room != gone]
        found = _stations(wish, left)
        if any(len(got) < need.number for got, need in zip(found, wish.stations, strict=True)):
            return first
    return found


def _places(need: PlacesNeed, whole: Span, given: Iterable[int]) -> dict[int, list[Piece]] | Clash:
    machines = [machine for machine in need.machines if machine.key not in given]
    for machine in machines:
        wanted = need.wanted_at(machine)
        woven = weave_many(whole, machine.lanes, wanted) if 0 < wanted <= len(machine.lanes) else None
        if woven is not None:
            return {machine.key: woven}
    free = {one.key: len(one.lanes) - peak([s for lane in one.lanes for s in lane], whole) for one in machines}
    best = max(machines, key=lambda one: free[one.key], default=None)
    if best is None:
        return Clash("places", need.name, need.number)
    keys = tuple(machine.key for machine in machines)
    return Clash("places", best.name, need.wanted_at(best), max(free[best.key], 0), keys)


def fit(wish: Wish, spots: Sequence[Spot]) -> Fit:
    """The best set for ``wish``, or every clash: of stations, places, rooms, heads and days."""
    found = _stations_with_room(wish, spots)
    clashes: list[Clash] = []
    if wish.closed_because is not None:
        clashes.append(Clash("closed", wish.closed_because))
    for need, got in zip(wish.stations, found, strict=True):
        if len(got) < need.number:
            busy = tuple(spot.key for spot in spots if need.suits(spot) and not _is_free(spot, wish, need.light))
            clashes.append(Clash("stations", need.kind, need.number, len(got), busy))
    pieces: dict[int, list[Piece]] = {}
    for places in wish.places:
        woven = _places(places, wish.whole, pieces)
        if isinstance(woven, Clash):
            clashes.append(woven)
        else:
            pieces |= woven
    chosen = [spot for got in found for spot in got]
    room = _room_clash(wish, chosen)
    if room is not None and not any(one.what == "stations" for one in clashes):
        clashes.append(room)
    if wish.heads_at_once is not None and wish.heads:
        left = wish.heads_at_once - peak(wish.others_in, wish.span)
        if wish.heads > left:
            clashes.append(Clash("heads", "", wish.heads, max(left, 0)))
    if clashes:
        return Fit(clashes=tuple(clashes))
    lights = {
        spot.room: need.light
        for need, got in zip(wish.stations, found, strict=True)
        for spot in got
        if spot.room is not None and need.light is not None
    }
    return Fit({spot.key: wish.kept(spot) for spot in chosen}, pieces, lights)
