"""What the act ``book`` looks at, gathered in few statements, with or without locks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Exists, Q

from studiodesk.answers import Refusal
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations.models import KitItem, Lane, Process, Processor, Station, Studio
from studiodesk.timekeeping import Span, day_span, studio_day, without

from ..models import Booking, Hold
from ..rules import own as own_rules
from ..rules.asking import Asked, HouseFacts, ProcessorFacts, StationFacts, may_book
from ..rules.kit import KitFacts, kept_span
from .others import Other, who_else
from .persons import Who, own_since, person_row, rules_of, who
from .touching import TAKEN, grid_of, has_read, holds_touching, note_facts, opened_around, warm_at


@dataclass(frozen=True)
class Wanted:
    """What somebody asks for, in rows.  ``instead_of`` is the booking that is changed: it stands in nobody's way.

    ``kit``: (item, pieces), fewest keys first.  ``is_moved_by_house``: what a member may have is not asked again.
    """

    member: Member
    station: Station
    process: Process | None
    span: Span
    kit: tuple[tuple[KitItem, int], ...] = ()
    guests: int = 0
    adult_name: str = ""
    instead_of: Booking | None = None
    is_moved_by_house: bool = False


@dataclass(frozen=True)
class Look:
    """Everything the rule is asked about, and the rows that the act writes into.  ``broken``: rules of the house."""

    wanted: Wanted
    asked: Asked
    station: StationFacts
    processors: tuple[ProcessorFacts, ...]
    house: HouseFacts
    kit: tuple[KitFacts, ...]
    who: Who
    broken: tuple[Refusal, ...]
    studio: Studio
    lanes: dict[int, list[int]]
    machines: dict[str, Processor]

    def answer(self, *, set_aside: bool = False) -> Refusal | ProcessorFacts | None:
        """What the rule says; with ``set_aside`` the rules of the house stand in nobody's way."""
        own = () if set_aside else self.broken
        return may_book(self.asked, self.station, self.processors, self.house, own=own, kit=self.kit)


def _machines(wanted: Wanted) -> list[Processor]:
    if wanted.process is None:
        return []
    station, process = wanted.station, wanted.process
    does = station.processes.through.objects.filter(station=station.pk, process=process.pk)
    found = note_facts(Processor.objects.filter(process=process), wanted.member)
    many = list(found.annotate(station_does=Exists(does)).order_by("pk"))
    if wanted.instead_of is not None:
        # A booking that is changed stays at its machine if it can.
        many.sort(key=lambda machine: machine.pk != wanted.instead_of.processor_id)  # type: ignore[union-attr]
    return many


def unlocked(rows: Any, of: str = "self") -> Any:
    return rows


def look(wanted: Wanted, *, now: datetime, by: Member, lock: Callable[..., Any] = unlocked) -> Look:
    """Gather the facts.  ``lock`` puts a lock on the studio (if heads are counted), the member and the resources.

    Everybody takes them in this order, so that no two acts wait for each other in a ring.
    """
    station, process, span, before = wanted.station, wanted.process, wanted.span, wanted.instead_of
    # Heads are counted over all stations, so bookings of different ones must wait for each other.
    studio = lock(Studio.objects.filter(heads_at_once__isnull=False)).first() or stations.studio()
    zone = stations.zone(studio)
    day = studio_day(span.starts, zone)
    person = person_row(wanted.member, station, process, span.starts, day, lock)
    rules = rules_of(person, day)
    held = _held(wanted, lock)
    # Read after the lock: while we waited for it a machine may have lost a place.
    machines = _machines(wanted)
    does: frozenset[str]
    if machines and process:
        # A station that does this process names it; which others it does changes no answer.
        does = frozenset({process.code} if machines[0].station_does else {"-"})  # type: ignore[attr-defined]
    else:
        does = frozenset(station.processes.values_list("code", flat=True))
    lanes = _lanes(held, wanted, machines)
    kept = {item.pk: kept_of(item, span) for item, _pieces in wanted.kit}
    today = day_span(studio_day(span.starts, zone), zone)
    wide = Span(
        min(span.starts - timedelta(minutes=station.set_up_minutes), today.starts),
        max([span.ends + timedelta(minutes=station.clear_up_minutes), *(one.ends for one in kept.values())]),
    )
    less = _only_gives_back(wanted, before)
    booked, shut, grouped = _by_lane(lanes, wide, before)
    own = lanes[station.resource_id][0]
    others, own_stays = who_else(
        wide, wanted.member, station, process, since=own_since(day, now, rules, zone), now=now, leaving_out=before
    )
    who_asks = who(person, rules, own_stays, station=station, process=process, span=span, now=now)
    asked = Asked(
        span.starts,
        span.ends,
        process.code if process else None,
        now,
        guests=wanted.guests,
        adult_name=wanted.adult_name,
        before=Span(before.starts, before.ends) if before is not None else None,
        was_cancelled=before is not None and before.cancelled_at is not None,
        is_moved_by_house=wanted.is_moved_by_house,
    )
    # What is in service comes first: a booking that is changed leaves a machine that is not, if it can.
    machines.sort(key=lambda one: any(cut.overlaps(asked.needed) for cut in _shut_at(one, lanes, shut)))
    return Look(
        wanted=wanted,
        asked=asked,
        station=StationFacts(
            code=station.code,
            name=station.name,
            processes=does,
            set_up=timedelta(minutes=station.set_up_minutes),
            clear_up=timedelta(minutes=station.clear_up_minutes),
            taken=booked[own],
            shut=shut[own],
            zone_name=station.zone.name if station.zone else "",
            unlike_light=[span for other in others for span in other.unlike_light],
            kind=station.kind,
        ),
        processors=tuple(
            _processor_facts(machine, lanes, booked, shut, grouped, others, today, asked, before, less)
            for machine in machines
        ),
        house=HouseFacts(
            zone=zone,
            grid=grid_of(studio, by),
            opened=opened_around(span, studio, now),
            heads_at_once=studio.heads_at_once,
            others_in=[other.span for other in others if other.comes for _ in range(1 + other.guests)],
        ),
        kit=tuple(
            KitFacts(
                code=item.code,
                name=item.name,
                pieces=pieces,
                span=kept[item.pk],
                lanes=[[*booked[lane], *shut[lane]] for lane in lanes[item.resource_id]],
                kinds=frozenset(item.kinds),
                processes=frozenset(item.process_codes),
            )
            for item, pieces in wanted.kit
        ),
        who=who_asks,
        broken=() if less else tuple(own_rules.broken(asked, who_asks.facts, rules, zone)),
        studio=studio,
        lanes=lanes,
        machines={machine.code: machine for machine in machines},
    )


def kept_of(item: KitItem, span: Span) -> Span:
    """When an item is kept for a stay."""
    from_end = None if item.from_end_minutes is None else timedelta(minutes=item.from_end_minutes)
    return kept_span(span, from_end, timedelta(minutes=item.outlasts_minutes))


def _only_gives_back(wanted: Wanted, before: Booking | None) -> bool:
    """Does a booking that stands only become less?  Then no rule of the house and no new note is in its way."""
    if before is None or before.cancelled_at is not None or wanted.guests > before.guests:
        return False
    same = (before.station_id, before.process_id, before.adult_name)
    if same != (wanted.station.pk, wanted.process.pk if wanted.process else None, wanted.adult_name):
        return False
    return Span(before.starts, before.ends).covers(wanted.span)


def _shut_at(machine: Processor, lanes: dict[int, list[int]], shut: dict[int, list[Span]]) -> list[Span]:
    return [span for lane in lanes[machine.resource_id] for span in shut[lane]]


def _processor_facts(
    machine: Processor,
    lanes: dict[int, list[int]],
    booked: dict[int, list[Span]],
    shut: dict[int, list[Span]],
    grouped: dict[int, list[Span]],
    others: Sequence[Other],
    today: Span,
    asked: Asked,
    before: Booking | None,
    less: bool,
) -> ProcessorFacts:
    at_it = [
        (other.span.starts, other.arrived_at)
        for other in others
        if other.processor_id == machine.pk and today.holds(other.span.starts)
    ]
    # For a class it is put on as for any booking.
    at_it += [(s.starts, None) for n in lanes[machine.resource_id] for s in grouped[n] if today.holds(s.starts)]
    # The machine was, or will be, put on for the very booking that is changed.
    is_theirs = before is not None and before.processor_id == machine.pk and asked.keeps_its_start
    out = _shut_at(machine, lanes, shut)
    if before is not None and before.processor_id == machine.pk and not (before.cancelled_at or before.released_at):
        # Its own place there was never taken from it: it may be made shorter, or take something else along.
        out = without(out, [Span(before.starts, before.ends)])
    return ProcessorFacts(
        code=machine.code,
        name=machine.name,
        lanes=[[*booked[lane], *shut[lane]] for lane in lanes[machine.resource_id]],
        shut=tuple(out),
        warm_at=None if is_theirs else warm_at(machine, asked.now, at_it),
        note_acknowledged=has_read(machine) or (less and before is not None and before.processor_id == machine.pk),
        warm_up=timedelta(minutes=machine.warm_up_minutes),
        dry_to_dry=timedelta(minutes=machine.dry_to_dry_minutes),
    )


def _held(wanted: Wanted, lock: Callable[..., Any]) -> list[Lane]:
    """The lanes of the station, of every machine of the process and of the kit, their resources locked in pk order."""
    keys = [wanted.station.resource_id, *(item.resource_id for item, _pieces in wanted.kit)]
    own = Q(resource_id__in=keys)
    if wanted.process is not None:
        own |= Q(resource_id__in=Processor.objects.filter(process=wanted.process.pk).values("resource_id"))
    if wanted.instead_of is not None:
        own |= Q(holds__booking=wanted.instead_of.pk)
    keys_of = Lane.objects.filter(own).values("resource_id") if wanted.instead_of is not None else None
    rows = Lane.objects.filter(own) if keys_of is None else Lane.objects.filter(resource_id__in=keys_of)
    # The resource is the lock, as in every other act; its lanes are only read.
    return list(lock(rows.select_related("resource").order_by("resource_id", "number"), of="resource"))


def _lanes(held: Iterable[Lane], wanted: Wanted, machines: Iterable[Processor]) -> dict[int, list[int]]:
    """Resource id → the ids of its lanes in number order; places and pieces that were taken away are left out."""
    places = {machine.resource_id: machine.booths_at_once for machine in machines}
    places |= {item.resource_id: item.pieces for item, _pieces in wanted.kit}
    out: dict[int, list[int]] = {key: [] for key in (wanted.station.resource_id, *places)}
    for lane in held:
        if lane.resource_id in out and lane.number <= places.get(lane.resource_id, lane.number):
            out[lane.resource_id].append(lane.pk)
    return out


def _by_lane(
    lanes: dict[int, list[int]], span: Span, leaving_out: Booking | None
) -> tuple[dict[int, list[Span]], dict[int, list[Span]], dict[int, list[Span]]]:
    """Lane → when somebody has it; when it is out of service; and of the first, when a group has it."""
    booked: dict[int, list[Span]] = defaultdict(list)
    shut: dict[int, list[Span]] = defaultdict(list)
    grouped: dict[int, list[Span]] = defaultdict(list)
    wanted = [lane for many in lanes.values() for lane in many]
    rows = holds_touching(span).filter(lane_id__in=wanted).order_by("starts")
    if leaving_out is not None:
        rows = rows.exclude(booking_id=leaving_out.pk)
    for lane, starts, ends, cause in rows.values_list("lane_id", "starts", "ends", "cause"):
        (booked if cause in TAKEN else shut)[lane].append(Span(starts, ends))
        if cause == Hold.Cause.CLASS:
            grouped[lane].append(Span(starts, ends))
    return booked, shut, grouped
