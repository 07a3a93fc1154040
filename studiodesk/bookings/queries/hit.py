"""Bookings that cannot stay as they were booked, and where each could be moved to.

Something of theirs goes out of service, or the house is not open any more.  Advice: the act looks again.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from studiodesk.answers import Refusal
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations.models import KitItem, Processor, Station, Studio
from studiodesk.timekeeping import Span, localise, studio_day

from ..models import Booking
from ..rules import moving
from ..rules import outages as out_rules
from ..rules.asking import ProcessorFacts
from ..rules.kit import free_pieces
from ..rules.places import crowded, peak
from .finding import FreeTime, free_times
from .looking import Look, Wanted, kept_of, look
from .needs import traits_of
from .persons import kit_of
from .touching import holds_touching, out_spans

#: Days before and after the booking's own that are searched.
BEFORE, AFTER = 3, 10


@dataclass(frozen=True)
class Option:
    """A move: where and when, at which processor, without which kit, and what speaks for it (a tier of the rule)."""

    station: Station
    span: Span
    processor: Processor | None = None
    without: tuple[KitItem, ...] = ()
    why: str = moving.OTHER_DAY

    @property
    def starts(self) -> datetime:
        return self.span.starts

    @property
    def ends(self) -> datetime:
        return self.span.ends

    @property
    def key(self) -> str:
        """What ``option_of`` reads."""
        items = ".".join(str(item.pk) for item in self.without)
        return f"{self.station.pk}-{int(self.starts.timestamp())}-{int(self.ends.timestamp())}-{items}"


def option_of(key: str) -> Option | None:
    """The move that ``Option.key`` wrote into a form; None for anything else.  The act says whether it can be."""
    parts = key.split("-")
    items = parts[3].split(".") if len(parts) == 4 and parts[3] else []
    numbers = [*parts[:3], *items]
    if len(parts) != 4 or not all(one.isascii() and one.isdigit() and len(one) < 12 for one in numbers):
        return None
    station = stations.stations().filter(pk=int(parts[0])).first()
    starts, ends = (datetime.fromtimestamp(int(one), UTC) for one in parts[1:3])
    if station is None or ends <= starts:
        return None
    return Option(station, Span(starts, ends), without=tuple(KitItem.objects.filter(pk__in=[int(i) for i in items])))


@dataclass(frozen=True)
class Hit:
    """A booking that cannot stay, and at most three moves, the best first; none: nothing was found that fits."""

    booking: Booking
    options: list[Option] = field(default_factory=list)

    @property
    def best(self) -> Option | None:
        return self.options[0] if self.options else None


class _Search:
    """Everything that is read for one booking."""

    def __init__(
        self, booking: Booking, studio: Studio, now: datetime, by: Member, avoid: Mapping[int, Sequence[Span]]
    ) -> None:
        self.booking, self.studio, self.now, self.by = booking, studio, now, by
        self.zone = stations.zone(studio)
        self.span = Span(booking.starts, booking.ends)
        self.was = moving.Was(booking.station_id, self.span)
        self.kit = kit_of(booking)
        code = booking.process.code if booking.process else None
        own = stations.stations().get(pk=booking.station_id)
        mine = traits_of(own, ())
        many = stations.stations().filter(kind=own.kind).exclude(pk=own.pk).order_by("pk")
        # One's own station first: of two that are alike nobody has to change for nothing.
        self.stations = [own, *(one for one in many if moving.is_equal(traits_of(one, ()), mine, code))]
        self.machines = stations.processors_of(booking.process) if booking.process else []
        self.looks: dict[tuple[int, Span, bool], tuple[Look, ProcessorFacts | None] | None] = {}
        days = Span(self.span.starts - timedelta(days=BEFORE + 2), self.span.ends + timedelta(days=AFTER + 2))
        resources = {one.resource_id for one in (*self.stations, *self.machines, *(item for item, _n in self.kit))}
        self.out = out_spans(resources, days)
        for resource, spans in avoid.items():
            self.out[resource] = [*self.out.get(resource, ()), *spans]

    @property
    def under_way(self) -> bool:
        return self.booking.starts <= self.now

    def spot(self, station: Station, span: Span, *, without_kit: bool = False) -> tuple[moving.Spot, Option] | None:
        """The place as the rule sees it, and the move; None if it cannot be or is out of service too."""
        kit = self._kit_left(span) if without_kit else self.kit
        seen = look(
            Wanted(
                member=self.booking.member,
                station=station,
                process=self.booking.process,
                span=span,
                kit=kit,
                guests=self.booking.guests,
                adult_name=self.booking.adult_name,
                instead_of=self.booking,
                is_moved_by_house=True,
            ),
            now=self.now,
            by=self.by,
        )
        place = seen.answer()
        if isinstance(place, Refusal) or not out_rules.is_clear_of(_uses(seen, place), self.out):
            return None
        machine = seen.machines[place.code] if place else None
        dropped = tuple(item for item, _n in self.kit if item.pk not in {one.pk for one, _m in kit})
        spot = moving.Spot(
            station=station.pk,
            span=span,
            whole=_whole(seen),
            without_kit=bool(dropped),
            room=station.zone_id if self.booking.process else None,
            light=self.booking.process.light if self.booking.process else "",
            shares=tuple(_shares(seen, place)),
        )
        return spot, Option(station, span, machine, dropped, moving.why(self.was, spot, self.zone))

    def _kit_left(self, span: Span) -> tuple[tuple[KitItem, int], ...]:
        """The kit but for what is out of service then."""
        uses = {item.pk: (item.resource_id, kept_of(item, span)) for item, _n in self.kit}
        return tuple((item, n) for item, n in self.kit if out_rules.is_clear_of([uses[item.pk]], self.out))

    def at_the_same_time(self) -> Iterator[tuple[moving.Spot, Option]]:
        """At its own station (another processor, or without what is out of service), then at the others."""
        coming = out_rules.still_to_come(self.span, self.now)
        if coming is None:
            return
        others = holds_touching(coming).filter(lane__resource__in=[one.resource_id for one in self.stations])
        taken = set(others.exclude(booking=self.booking).values_list("lane__resource_id", flat=True))
        for without_kit in (False, True) if self._kit_is_out() else (False,):
            for station in self.stations:
                if station.resource_id not in taken:
                    found = self.spot(station, self.span, without_kit=without_kit)
                    if found is not None:
                        yield found

    def _kit_is_out(self) -> bool:
        return len(self._kit_left(self.span)) < len(self.kit)

    def at_other_times(self) -> Iterator[tuple[moving.Spot, Option]]:
        """At the nearest free starts, looked at closely one after another."""
        if self.under_way:
            return
        first = studio_day(self.span.starts, self.zone) - timedelta(days=BEFORE)
        today = studio_day(self.now, self.zone)
        days = (studio_day(self.span.starts, self.zone) + timedelta(days=AFTER) - max(first, today)).days + 1
        found = free_times(
            studio=self.studio,
            stations_wanted=self.stations,
            processors=self.machines if self.booking.process else None,
            process=self.booking.process,
            day=first,
            length=self.span.length,
            now=self.now,
            by=self.booking.member,
            enough=100_000,
            days=days,
            leaving_out=self.booking,
            avoid=self._avoid(),
        )
        starts = {(one.station.pk, self._nearest(one)) for one in found}
        by_key = {one.pk: one for one in self.stations}
        length = self.span.length
        rough = [moving.Spot(key, Span(at, at + length), Span(at, at + length)) for key, at in starts]
        for one in moving.ranked(self.was, rough, self.now, self.zone):
            if one.span != self.span:
                spot = self.spot(by_key[one.station], one.span)
                if spot is not None:
                    yield spot

    def _avoid(self) -> dict[int, list[Span]]:
        """When nothing is to be found: a station is of no use either while the kit for it is out of service."""
        of_kit = [span for item, _n in self.kit for span in self.out.get(item.resource_id, ())]
        return {**self.out, **{s.resource_id: [*self.out.get(s.resource_id, ()), *of_kit] for s in self.stations}}

    def _nearest(self, free: FreeTime) -> datetime:
        """The start within a run of starts that is nearest to the booking's own time of day."""
        day = studio_day(free.starts, self.zone)
        wall = self.span.starts.astimezone(self.zone).time()
        wished = localise(datetime.combine(day, wall), self.zone)
        at = min(max(wished, free.starts), free.last_start)
        if not moving.may_be_asked(self.was, at, self.now):
            # Not so early; perhaps the last start of the run is late enough.
            at = free.last_start
        return at.astimezone(UTC)

    def spots(self, enough: int) -> list[tuple[moving.Spot, Option]]:
        """At most ``enough`` moves, the best first."""
        found: list[tuple[moving.Spot, Option]] = []
        for some in (self.at_the_same_time(), self.at_other_times()):
            for spot in some:
                found.append(spot)
                if len(found) >= enough:
                    break
            if len(found) >= enough:
                break
        options = {id(spot): option for spot, option in found}
        return [
            (spot, options[id(spot)]) for spot in moving.ranked(self.was, [s for s, _o in found], self.now, self.zone)
        ]


def _whole(seen: Look) -> Span:
    needed = seen.asked.needed
    under_way = needed.starts > seen.asked.starts
    return needed.widened(timedelta(0) if under_way else seen.station.set_up, seen.station.clear_up)


def _uses(seen: Look, place: ProcessorFacts | None) -> Iterator[tuple[int, Span]]:
    """Every resource that the stay would keep, and when."""
    yield seen.wanted.station.resource_id, _whole(seen)
    if place is not None:
        yield seen.machines[place.code].resource_id, seen.asked.needed
    for (item, _pieces), facts in zip(seen.wanted.kit, seen.kit, strict=True):
        yield item.resource_id, facts.span


def _shares(seen: Look, place: ProcessorFacts | None) -> Iterator[moving.Share]:
    """What several have at once: places at the processor, the house's heads, kit."""
    needed = seen.asked.needed
    if place is not None:
        taken = [part for lane in place.lanes for span in lane if (part := span.clipped_to(needed))]
        left = next((len(place.lanes) - n for n in range(len(place.lanes), 0, -1) if crowded(taken, n)), None)
        yield moving.Share(f"machine {place.code}", needed, 1, len(place.lanes) if left is None else left)
    if seen.house.heads_at_once is not None:
        left = seen.house.heads_at_once - peak(seen.house.others_in, needed)
        yield moving.Share("heads", needed, 1 + seen.asked.guests, left)
    for facts in seen.kit:
        yield moving.Share(f"kit {facts.code}", facts.span, facts.pieces, free_pieces(facts))


def moves_of(booking: Booking, studio: Studio, now: datetime, by: Member, enough: int = moving.SHOWN) -> list[Option]:
    """Where one booking could be moved to as things stand now, the best first."""
    return [option for _spot, option in _Search(booking, studio, now, by, {}).spots(enough)]


def hits_with_moves(
    bookings: Sequence[Booking],
    studio: Studio,
    now: datetime,
    by: Member,
    avoid: Mapping[int, Sequence[Span]] | None = None,
) -> list[Hit]:
    """Every booking with its moves, by start; the first of each can be had even when all the others move too.

    ``avoid``: resource → when nobody is to be moved there, although it is free.
    """
    parties = [_Search(one, studio, now, by, avoid or {}).spots(moving.SHOWN * 2) for one in bookings]
    options = {id(spot): option for party in parties for spot, option in party}
    left = moving.assigned([[spot for spot, _option in party] for party in parties])
    return [
        Hit(booking, [options[id(spot)] for spot in spots[: moving.SHOWN]])
        for booking, spots in zip(bookings, left, strict=True)
    ]
