"""Finding a free time, and what is free near a taken one.  Advice: the act looks again."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations import rules as house_rules
from studiodesk.stations.models import Process, Processor, Station, Studio
from studiodesk.timekeeping import Span, day_span, localise, studio_day

from ..models import Booking, Hold
from ..rules.asking import nothing_comes_out_before
from ..rules.free_times import MINUTE, Candidate, Offer, Place, Wish, offers_of_a_day
from ..rules.places import crowded, full_spans
from .groups_in import groups_in
from .touching import LONGEST_HOLD, as_text, bookings_touching, grid_of, holds_touching, moment_of, span_of, warm_at

DAYS = 14
ENOUGH = 10


@dataclass(frozen=True)
class FreeTime:
    """``starts`` to ``ends`` is to be had; one may begin at any grid time up to ``last_start``."""

    station: Station
    processor: Processor | None
    starts: datetime
    ends: datetime
    last_start: datetime


@dataclass(frozen=True)
class Near:
    """What is free near a taken time: others at the same time, the same station at others."""

    same_time: list[FreeTime]
    same_station: list[FreeTime]


@dataclass
class Seen:
    """What stands in the days that are searched, read once for all of them."""

    taken: dict[int, list[Span]]
    lanes: dict[int, dict[int, list[Span]]]
    shut: dict[int, list[Span]]
    heated: dict[int, list[tuple[datetime, datetime | None]]]
    crowded: list[Span]
    #: when a machine is out of service, whoever has a place at it then
    out: dict[int, list[Span]] = field(default_factory=lambda: defaultdict(list))


def _seen(
    span: Span,
    many: Sequence[Station],
    machines: Sequence[Processor],
    process: Process | None,
    heads: int | None,
    leaving_out: Booking | None = None,
    avoid: Mapping[int, Sequence[Span]] | None = None,
) -> Seen:
    resources = [*(s.resource_id for s in many), *(m.resource_id for m in machines)]
    of_machines = {m.resource_id for m in machines}
    lanes: dict[int, dict[int, list[Span]]] = defaultdict(lambda: defaultdict(list))
    seen = Seen(defaultdict(list), lanes, defaultdict(list), defaultdict(list), [])
    rows = holds_touching(span).filter(lane__resource_id__in=resources).order_by("starts")
    if leaving_out is not None:
        rows = rows.exclude(booking_id=leaving_out.pk)
    for resource, spans in (avoid or {}).items():
        (seen.out if resource in of_machines else seen.taken)[resource] += spans
    fields = ("lane__resource_id", "lane__number", "starts", "ends", "cause", "booking__starts", "booking__arrived_at")
    for resource, number, from_, until, cause, begins, came in rows.values_list(*as_text(*fields)):
        held = span_of(from_, until)
        if resource in of_machines:
            seen.lanes[resource][number].append(held)
            if cause == Hold.Cause.BOOKING:
                seen.heated[resource].append((moment_of(begins), came and moment_of(came)))
            elif cause == Hold.Cause.CLASS:
                seen.heated[resource].append((held.starts, None))
            else:
                seen.out[resource].append(held)
        else:
            seen.taken[resource].append(held)
    _people(seen, span, {s.zone_id for s in many if s.zone_id is not None}, process, heads, leaving_out)
    return seen


def _people(
    seen: Seen, span: Span, zones: set[int], process: Process | None, heads: int | None, leaving_out: Booking | None
) -> None:
    """When the house is full within ``span``, and when a shared room is kept in another light: two queries for both."""
    if heads is None and not (zones and process):
        return
    inside: dict[int, list[Span]] = {}
    fields = ("pk", "starts", "ends", "guests", "released_at", "zone_holds__zone_id", "zone_holds__light")
    rows = bookings_touching(span)
    if leaving_out is not None:
        rows = rows.exclude(pk=leaving_out.pk)
    for booking, starts, ends, guests, released, zone, light in rows.values_list(*as_text(*fields)):
        stay = span_of(starts, ends)
        inside[booking] = [] if released else [stay] * (1 + guests)
        if process is not None and zone in zones and light != process.light:
            seen.shut[zone].append(stay)
    groups = groups_in(span)
    for zone in zones:
        seen.shut[zone] += [one.span for one in groups if one.keeps_from(zone, process.light if process else None)]
    if heads is not None:
        whole = [span.widened(LONGEST_HOLD, LONGEST_HOLD)]
        everybody = [one for many in inside.values() for one in many]
        everybody += [one.span for one in groups for _ in range(one.heads)]
        seen.crowded = crowded(everybody, heads) if heads else whole


def within(spans: Sequence[Span], day: Span) -> list[Span]:
    starts, ends = day.starts, day.ends
    # Written out: two weeks of a full house ask a hundred thousand times.
    return [span for span in spans if span.starts < ends and starts < span.ends]


def offers_on(
    day: Span,
    begins: datetime,
    opened: list[Span],
    seen: Seen,
    many: Sequence[Station],
    machines: Sequence[Processor] | None,
    length: timedelta,
    grid: timedelta,
    now: datetime,
    zone: ZoneInfo,
) -> list[Offer]:
    """The offers of one local day from ``begins`` on; a stay may run over midnight where the house is open then."""
    reach = Span(day.starts - LONGEST_HOLD, day.ends + LONGEST_HOLD)
    candidates = [
        Candidate(
            key=station.pk,
            taken=within(seen.taken[station.resource_id], reach),
            set_up=timedelta(minutes=station.set_up_minutes),
            clear_up=timedelta(minutes=station.clear_up_minutes),
            shut=within(seen.shut[station.zone_id], reach) if station.zone_id else (),
        )
        for station in many
    ]
    places = None
    if machines is not None:
        places = []
        for machine in machines:
            lanes = seen.lanes[machine.resource_id]
            full = full_spans([within(lanes[n + 1], reach) for n in range(machine.booths_at_once)])
            full = [*full, *within(seen.out[machine.resource_id], reach), *_too_cold(machine, opened, length)]
            heated = [pair for pair in seen.heated[machine.resource_id] if day.holds(pair[0])]
            places.append(Place(machine.pk, full, warm_at(machine, now, heated)))
    wish = Wish(length, grid, max(now, begins), places, zone, within(seen.crowded, reach))
    return [offer for offer in offers_of_a_day(opened, candidates, wish) if day.holds(offer.first)]


def _too_cold(machine: Processor, opened: Sequence[Span], length: timedelta) -> list[Span]:
    """Where a stay of ``length`` may not begin, because nothing would come out of the processor before it ends."""
    warm_up, through = timedelta(minutes=machine.warm_up_minutes), timedelta(minutes=machine.dry_to_dry_minutes)
    wait = nothing_comes_out_before(length, warm_up, through)
    if wait < timedelta(0):
        return []
    return [Span(opening.starts, opening.starts + wait + MINUTE) for opening in opened]


def free_times(
    *,
    studio: Studio,
    stations_wanted: Sequence[Station],
    processors: Sequence[Processor] | None,
    process: Process | None,
    day: date,
    length: timedelta,
    now: datetime,
    by: Member,
    after: time | None = None,
    enough: int = ENOUGH,
    days: int = DAYS,
    leaving_out: Booking | None = None,
    avoid: Mapping[int, Sequence[Span]] | None = None,
) -> list[FreeTime]:
    """At most ``enough`` free times from ``day`` on, earliest first, at most ``days`` days ahead.

    ``after``: on every day none that begins before that time of the wall clock.  ``processors`` is None where no
    process is asked; an empty sequence finds nothing.  ``leaving_out`` is a booking that is to be moved: it stands in
    nobody's way; ``avoid``: resource → when it is not wanted, whoever has it.
    """
    zone = stations.zone(studio)
    first = max(day, studio_day(now, zone))
    last = first + timedelta(days=days - 1)
    hours = stations.hours(studio, first, last)
    window = Span(day_span(first, zone).starts, day_span(last + timedelta(days=1), zone).ends)
    seen = _seen(window, stations_wanted, processors or (), process, studio.heads_at_once, leaving_out, avoid)
    grid = grid_of(studio, by)
    by_key = {station.pk: station for station in stations_wanted}
    machines = {machine.pk: machine for machine in processors or ()}
    found: list[FreeTime] = []
    for number in range(days):
        at = first + timedelta(days=number)
        opened = opened_on(at, hours, zone)
        if not opened:
            continue
        whole = day_span(at, zone)
        begins = whole.starts if after is None else localise(datetime.combine(at, after), zone)
        for offer in offers_on(whole, begins, opened, seen, stations_wanted, processors, length, grid, now, zone):
            machine = machines[offer.place] if offer.place is not None else None
            found.append(FreeTime(by_key[offer.station], machine, offer.first, offer.ends, offer.last))
        if len(found) >= enough:
            break
    return found[:enough]


def opened_on(day: date, hours: house_rules.Hours, zone: ZoneInfo) -> list[Span]:
    """The opening spans that touch the local day, joined with those that run on over midnight."""
    whole = day_span(day, zone)
    around = house_rules.open_around(day - timedelta(days=1), day + timedelta(days=1), hours, zone)
    return [span for span in around if span.overlaps(whole)]


def near(
    *,
    station: Station,
    process: Process | None,
    span: Span,
    now: datetime,
    by: Member,
    leaving_out: Booking | None = None,
) -> Near:
    """What is free near a time that is not to be had: other stations of the kind, and this one at other times."""
    studio = stations.studio()
    kind = stations.stations().filter(kind=station.kind)
    many = list(kind.filter(processes=process) if process else kind)
    machines = stations.processors_of(process) if process else None
    zone = stations.zone(studio)
    day = studio_day(span.starts, zone)
    found = free_times(
        studio=studio,
        stations_wanted=many,
        processors=machines,
        process=process,
        day=day,
        length=span.length,
        now=now,
        by=by,
        enough=200,
        days=3,
        leaving_out=leaving_out,
    )
    same_time = [
        FreeTime(free.station, free.processor, span.starts, span.ends, span.starts)
        for free in found
        if free.station.pk != station.pk and free.starts <= span.starts <= free.last_start
    ]
    own = [_closest(free, span) for free in found if free.station.pk == station.pk]
    own.sort(key=lambda free: abs(free.starts - span.starts))
    return Near(same_time[:4], own[:4])


def _closest(free: FreeTime, span: Span) -> FreeTime:
    """The start within a run of starts that lies nearest to the wished one."""
    starts = min(max(span.starts, free.starts), free.last_start)
    return FreeTime(free.station, free.processor, starts, starts + span.length, free.last_start)
