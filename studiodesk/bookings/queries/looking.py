"""What the act ``book`` looks at, gathered in few statements, with or without locks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery

from studiodesk.people.models import Member
from studiodesk.safety.models import SafetyAcknowledgement, SafetyNote
from studiodesk.stations import queries as stations
from studiodesk.stations import rules as house_rules
from studiodesk.stations.models import Lane, Process, Processor, Station, Studio
from studiodesk.timekeeping import Span, day_span, studio_day

from ..models import Booking, Hold, ZoneHold
from ..rules.asking import Asked, HouseFacts, ProcessorFacts, StationFacts

LONGEST_HOLD = timedelta(hours=24)
DESK_GRID = timedelta(minutes=5)
MARGIN_DAYS = 8


def holds_touching(span: Span) -> QuerySet[Hold]:
    """Holds that share an instant with ``span``; bounded backwards, for no hold is longer than a day."""
    return Hold.objects.filter(starts__lt=span.ends, starts__gt=span.starts - LONGEST_HOLD, ends__gt=span.starts)


def bookings_touching(span: Span) -> QuerySet[Booking]:
    """Bookings that stand (not cancelled) and share an instant with ``span``."""
    return Booking.objects.filter(
        cancelled_at__isnull=True, starts__lt=span.ends, starts__gt=span.starts - LONGEST_HOLD, ends__gt=span.starts
    )


def note_facts(processors: QuerySet[Processor], member: Member) -> QuerySet[Processor]:
    """``note_read``: True if the member acknowledged the current safety note, or there is none."""
    current = SafetyNote.objects.filter(processor=OuterRef("pk")).order_by("-version").values("pk")[:1]
    return processors.annotate(
        current_note=Subquery(current),
        note_read=Exists(SafetyAcknowledgement.objects.filter(note=OuterRef("current_note"), member=member)),
    )


def has_read(processor: Any) -> bool:
    return processor.current_note is None or processor.note_read


@dataclass(frozen=True)
class Look:
    """Everything the rule is asked about, and the rows that the act writes into."""

    asked: Asked
    station: StationFacts
    processors: tuple[ProcessorFacts, ...]
    house: HouseFacts
    studio: Studio
    lanes: dict[int, list[int]]
    machines: dict[str, Processor]


def grid_of(studio: Studio, by: Member) -> timedelta:
    """Members book on the house's grid, whoever runs the house on five minutes."""
    return DESK_GRID if by.may_run_the_house else timedelta(minutes=studio.grid_minutes)


def opened_around(span: Span, studio: Studio, now: datetime) -> list[Span]:
    """Opening spans from the day before until a week after what is asked: enough to name the nearest."""
    zone = stations.zone(studio)
    first = (
        min(studio_day(span.starts, zone), studio_day(now, zone))
        if span.starts < now
        else studio_day(span.starts, zone)
    )
    last = studio_day(span.ends, zone) + timedelta(days=MARGIN_DAYS)
    return house_rules.open_around(first - timedelta(days=1), last, stations.hours(), zone)


def _machines(station: Station, process: Process, member: Member) -> list[Processor]:
    does = station.processes.through.objects.filter(station=station.pk, process=process.pk)
    found = note_facts(Processor.objects.filter(process=process), member)
    return list(found.annotate(station_does=Exists(does)).order_by("pk"))


def look(
    *,
    member: Member,
    station: Station,
    process: Process | None,
    span: Span,
    now: datetime,
    by: Member,
    lock: Callable[[Any], Any] = lambda rows: rows,
) -> Look:
    """Gather the facts.  ``lock`` puts a lock on the rows of resources and, if heads are counted, of the studio."""
    held = _held(station, process, lock)
    # Read after the lock: while we waited for it a machine may have lost a place.
    machines = _machines(station, process, member) if process else []
    does: frozenset[str]
    if machines and process:
        # A station that does this process names it; which others it does changes no answer.
        does = frozenset({process.code} if machines[0].station_does else {"-"})  # type: ignore[attr-defined]
    else:
        does = frozenset(station.processes.values_list("code", flat=True))
    lanes = _lanes(held, station, machines)
    studio = stations.studio()
    if studio.heads_at_once is not None:
        # Heads are counted over all stations, so bookings of different ones must wait for each other.
        studio = lock(Studio.objects.filter(pk=studio.pk)).get()
    zone = stations.zone(studio)
    opened = opened_around(span, studio, now)
    today = day_span(studio_day(span.starts, zone), zone)
    wide = Span(
        min(span.starts - timedelta(minutes=station.set_up_minutes), today.starts),
        span.ends + timedelta(minutes=station.clear_up_minutes),
    )
    booked, shut = _by_lane(lanes, wide)
    own = lanes[station.resource_id][0]
    others = list(bookings_touching(wide).values_list("starts", "ends", "processor_id", "arrived_at"))
    return Look(
        asked=Asked(span.starts, span.ends, process.code if process else None, now),
        station=StationFacts(
            code=station.code,
            name=station.name,
            processes=does,
            set_up=timedelta(minutes=station.set_up_minutes),
            clear_up=timedelta(minutes=station.clear_up_minutes),
            taken=booked[own],
            shut=shut[own],
            zone_name=station.zone.name if station.zone else "",
            unlike_light=unlike_light(station, process, span),
        ),
        processors=tuple(
            ProcessorFacts(
                code=machine.code,
                name=machine.name,
                lanes=[[*booked[lane], *shut[lane]] for lane in lanes[machine.resource_id]],
                shut=tuple(s for lane in lanes[machine.resource_id] for s in shut[lane]),
                warm_at=warm_at(
                    machine,
                    now,
                    [(a, arrived) for a, _, key, arrived in others if key == machine.pk and today.holds(a)],
                ),
                note_acknowledged=has_read(machine),
                warm_up=timedelta(minutes=machine.warm_up_minutes),
                dry_to_dry=timedelta(minutes=machine.dry_to_dry_minutes),
            )
            for machine in machines
        ),
        house=HouseFacts(
            zone=zone,
            grid=grid_of(studio, by),
            opened=opened,
            heads_at_once=studio.heads_at_once,
            others_in=[Span(a, b) for a, b, _, _ in others],
        ),
        studio=studio,
        lanes=lanes,
        machines={machine.code: machine for machine in machines},
    )


def _held(station: Station, process: Process | None, lock: Callable[[Any], Any]) -> list[Lane]:
    """The lanes of the station and of every machine of the process, their resources locked in pk order."""
    wanted = Q(resource_id=station.resource_id)
    if process is not None:
        wanted |= Q(resource_id__in=Processor.objects.filter(process=process.pk).values("resource_id"))
    return list(lock(Lane.objects.filter(wanted).select_related("resource").order_by("resource_id", "number")))


def _lanes(held: Iterable[Lane], station: Station, machines: Iterable[Processor]) -> dict[int, list[int]]:
    """Resource id → the ids of its lanes in number order; places that were taken away are left out."""
    places = {machine.resource_id: machine.booths_at_once for machine in machines}
    out: dict[int, list[int]] = {key: [] for key in (station.resource_id, *places)}
    for lane in held:
        if lane.resource_id in out and lane.number <= places.get(lane.resource_id, lane.number):
            out[lane.resource_id].append(lane.pk)
    return out


def _by_lane(lanes: dict[int, list[int]], span: Span) -> tuple[dict[int, list[Span]], dict[int, list[Span]]]:
    booked: dict[int, list[Span]] = defaultdict(list)
    shut: dict[int, list[Span]] = defaultdict(list)
    wanted = [lane for many in lanes.values() for lane in many]
    rows = holds_touching(span).filter(lane_id__in=wanted).order_by("starts")
    for lane, starts, ends, cause in rows.values_list("lane_id", "starts", "ends", "cause"):
        (booked if cause == Hold.Cause.BOOKING else shut)[lane].append(Span(starts, ends))
    return booked, shut


def unlike_light(station: Station, process: Process | None, span: Span) -> list[Span]:
    """When the station's shared room is kept for another light than the process needs."""
    if process is None or station.zone_id is None:
        return []
    rows = ZoneHold.objects.filter(
        zone_id=station.zone_id, starts__lt=span.ends, starts__gt=span.starts - LONGEST_HOLD, ends__gt=span.starts
    ).exclude(light=process.light)
    return [Span(a, b) for a, b in rows.values_list("starts", "ends")]


def warm_at(machine: Processor, now: datetime, booked: Iterable[tuple[datetime, datetime | None]]) -> datetime | None:
    """``booked`` are the day's bookings of the machine: when each starts, and when somebody signed in to it."""
    return house_rules.soonest_warm(
        now,
        timedelta(minutes=machine.warm_up_minutes),
        timedelta(minutes=machine.dry_to_dry_minutes),
        [starts for starts, arrived_at in booked if house_rules.heats(starts, arrived_at, now)],
    )
