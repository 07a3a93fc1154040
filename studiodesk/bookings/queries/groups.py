"""What a group could keep together, what stands in its way, and the nearest times at which nothing does."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import reduce
from operator import or_
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q

from studiodesk.stations import queries as stations
from studiodesk.stations.models import Lane, LightZone, Process, Resource, Station, Studio
from studiodesk.stations.rules import Hours, open_spans
from studiodesk.timekeeping import Span, days_shifted, studio_day

from ..models import GroupStay, Hold, ZoneHold
from ..rules import groups as rules
from .groups_in import groups_touching
from .looking import unlocked
from .touching import bookings_touching, holds_touching, sharing

#: How far ahead the nearest times that fit are looked for, and how many are shown.
AHEAD_DAYS, SHOWN = 60, 5


@dataclass(frozen=True)
class Needed:
    """So many stations of ``kind`` for ``process``; without a kind so many places at a processor (0: all it has)."""

    kind: str = ""
    process: Process | None = None
    number: int = 0


@dataclass(frozen=True)
class GroupWish:
    """One time at which a group wants to come, and what it needs then."""

    span: Span
    heads: int
    needs: tuple[Needed, ...] = ()
    before: timedelta = timedelta(0)
    after: timedelta = timedelta(0)

    @property
    def whole(self) -> Span:
        return self.span.widened(self.before, self.after)


class Facts:
    """Everything that is read for groups with these needs within ``window``; ``fit`` then asks no more.

    ``lock`` puts a lock on the studio (if heads are counted) and on every resource that could be kept, by key, in the
    order in which whoever books takes them.  ``leaving_out``: stays that are to be moved are in nobody's way,
    ``moving``: nor are bookings (by id) that are.
    """

    def __init__(
        self,
        needs: Sequence[Needed],
        window: Span,
        *,
        leaving_out: Sequence[GroupStay] = (),
        moving: Sequence[int] = (),
        lock: Callable[..., Any] = unlocked,
    ) -> None:
        self.gone, self.moving = [stay.pk for stay in leaving_out], list(moving)
        self.studio = lock(Studio.objects.filter(heads_at_once__isnull=False)).first() or stations.studio()
        self.zone = stations.zone(self.studio)
        kinds = {need.kind for need in needs if need.kind}
        processes = {need.process.pk for need in needs if not need.kind and need.process is not None}
        theirs = Lane.objects.filter(holds__group__in=self.gone).values("resource_id")
        wanted = Q(station__kind__in=kinds) | Q(processor__process__in=processes) | Q(pk__in=theirs)
        self.resources = [row.pk for row in lock(Resource.objects.filter(wanted).order_by("pk"))]
        many = Station.objects.filter(kind__in=kinds).prefetch_related("processes").order_by("pk")
        self.stations = {station.resource_id: station for station in many}
        self.machines = list(stations.processors().filter(process__in=processes).order_by("pk"))
        wide = window.widened(timedelta(days=1), timedelta(days=1))
        self._read_lanes(wide)
        self._read_rooms(wide)
        self._read_heads(wide)
        self.spots = self._spots()  # once: the nearest days ask a hundred times
        first, last = studio_day(window.starts, self.zone), studio_day(window.ends, self.zone)
        self.hours = stations.hours(self.studio, first, last)

    def _read_lanes(self, wide: Span) -> None:
        self.lanes: dict[int, dict[int, list[Span]]] = defaultdict(dict)
        places = {machine.resource_id: machine.booths_at_once for machine in self.machines}
        for lane in Lane.objects.filter(resource__in=self.resources).order_by("resource_id", "number"):
            if lane.number <= places.get(lane.resource_id, lane.number):
                self.lanes[lane.resource_id][lane.pk] = []
        rows = holds_touching(wide).filter(lane__resource__in=self.resources)
        rows = rows.exclude(group__in=self.gone).exclude(booking__in=self.moving).order_by("starts")
        for resource, lane, starts, ends in rows.values_list("lane__resource_id", "lane_id", "starts", "ends"):
            if lane in self.lanes[resource]:
                self.lanes[resource][lane].append(Span(starts, ends))

    def _read_rooms(self, wide: Span) -> None:
        rooms = {station.zone_id for station in self.stations.values() if station.zone_id is not None}
        self.rooms = dict(LightZone.objects.filter(pk__in=rooms).values_list("pk", "heads_at_most"))
        self.lights: dict[int, dict[str, list[Span]]] = defaultdict(lambda: defaultdict(list))
        rows = ZoneHold.objects.filter(zone__in=rooms, starts__lt=wide.ends, ends__gt=wide.starts)
        rows = rows.exclude(group__in=self.gone).exclude(booking__in=self.moving)
        for zone, light, starts, ends in rows.values_list("zone_id", "light", "starts", "ends"):
            self.lights[zone][light].append(Span(starts, ends))
        self.in_rooms: dict[int, list[Span]] = defaultdict(list)
        limited = [room for room, limit in self.rooms.items() if limit is not None]
        if not limited:
            return
        coming = bookings_touching(wide).filter(released_at__isnull=True, station__zone__in=limited)
        coming = coming.exclude(pk__in=self.moving)
        for zone, starts, ends, guests in coming.values_list("station__zone_id", "starts", "ends", "guests"):
            self.in_rooms[zone] += [Span(starts, ends)] * (1 + guests)
        # A group that has stations in two rooms may stand in either of them all at once: at the tutor's print.
        others = groups_touching(wide).exclude(pk__in=self.gone)
        theirs = others.filter(holds__lane__resource__station__zone__in=limited).order_by("pk")
        columns = ("pk", "holds__lane__resource__station__zone_id", "starts", "ends", "heads")
        for _pk, zone, starts, ends, heads in theirs.values_list(*columns).distinct():
            self.in_rooms[zone] += [Span(starts, ends)] * heads

    def _read_heads(self, wide: Span) -> None:
        self.others: list[Span] = []
        if self.studio.heads_at_once is None:
            return
        coming = bookings_touching(wide).filter(released_at__isnull=True)
        for starts, ends, guests in coming.values_list("starts", "ends", "guests"):
            self.others += [Span(starts, ends)] * (1 + guests)
        for starts, ends, heads in (
            groups_touching(wide).exclude(pk__in=self.gone).values_list("starts", "ends", "heads")
        ):
            self.others += [Span(starts, ends)] * heads

    def _spots(self) -> list[rules.Spot]:
        return [
            rules.Spot(
                key=resource,
                name=station.name,
                kind=station.kind,
                processes=frozenset(process.code for process in station.processes.all()),
                taken=[span for many in self.lanes[resource].values() for span in many],
                set_up=timedelta(minutes=station.set_up_minutes),
                clear_up=timedelta(minutes=station.clear_up_minutes),
                room=station.zone_id,
                lights=self.lights[station.zone_id] if station.zone_id is not None else {},
                heads=station.heads_at_most,
            )
            for resource, station in self.stations.items()
        ]

    def fit(self, wish: GroupWish) -> rules.Fit:
        """The best set for ``wish``, or every clash."""
        day = studio_day(wish.span.starts, self.zone)
        return rules.fit(
            rules.Wish(
                span=wish.span,
                before=wish.before,
                after=wish.after,
                heads=wish.heads,
                stations=[
                    rules.StationNeed(
                        need.kind,
                        need.number,
                        need.process.code if need.process else None,
                        need.process.light if need.process else None,
                    )
                    for need in wish.needs
                    if need.kind
                ],
                places=[self._places(need) for need in wish.needs if not need.kind],
                rooms=self.rooms,
                in_rooms=self.in_rooms,
                heads_at_once=self.studio.heads_at_once,
                others_in=self.others,
                closed_because=self.hours.closed_because(day),
            ),
            self.spots,
        )

    def _places(self, need: Needed) -> rules.PlacesNeed:
        own = [one for one in self.machines if need.process is not None and one.process_id == need.process.pk]
        machines = [rules.Machine(one.resource_id, one.name, list(self.lanes[one.resource_id].values())) for one in own]
        return rules.PlacesNeed(need.process.name if need.process else "", machines, need.number)


def window_of(wishes: Sequence[GroupWish]) -> Span:
    return Span(min(wish.whole.starts for wish in wishes), max(wish.whole.ends for wish in wishes))


def all_needs(wishes: Sequence[GroupWish]) -> list[Needed]:
    return [need for wish in wishes for need in wish.needs]


def fits(wishes: Sequence[GroupWish], leaving_out: Sequence[GroupStay] = ()) -> list[rules.Fit]:
    """What each of ``wishes`` would keep, or what is in its way, in their order; ``leaving_out`` is in nobody's."""
    facts = Facts(all_needs(wishes), window_of(wishes), leaving_out=leaving_out)
    return [facts.fit(wish) for wish in wishes]


def moved_by_days(wishes: Sequence[GroupWish], days: int, zone: Any) -> list[GroupWish]:
    """The same wall-clock times so many days later (or earlier), whatever the clock change does to UTC."""
    out = []
    for wish in wishes:
        starts, ends = (days_shifted(moment, days, zone) for moment in (wish.span.starts, wish.span.ends))
        out.append(replace(wish, span=Span(starts, max(ends, starts + timedelta(minutes=1)))))
    return out


def nearest_days(wishes: Sequence[GroupWish], *, now: datetime, leaving_out: Sequence[GroupStay] = ()) -> list[date]:
    """The days nearest to the first wish on which all of them fit at the same local times, the nearest first."""
    window = window_of(wishes)
    back = min(max((window.starts - now).days, 0), AHEAD_DAYS)
    around = window.widened(timedelta(days=back + 1), timedelta(days=AHEAD_DAYS + 1))
    facts = Facts(all_needs(wishes), around, leaving_out=leaving_out)
    found: list[date] = []
    for days in _by_distance(back, AHEAD_DAYS):
        moved = moved_by_days(wishes, days, facts.zone)
        if moved[0].whole.starts <= now or any(_is_outside(wish, facts.hours, facts.zone) for wish in moved):
            continue
        if not any(facts.fit(wish).clashes for wish in moved):
            found.append(studio_day(moved[0].span.starts, facts.zone))
            if len(found) >= SHOWN:
                break
    return found


def _is_outside(wish: GroupWish, hours: Hours, zone: ZoneInfo) -> bool:
    """Is the house closed some of that time, as its week has it?  Who stays for days stays over nights."""
    span = wish.span
    if not hours.week or span.length > timedelta(days=1):
        return False
    plan = open_spans(studio_day(span.starts, zone), replace(hours, shifts=None), zone)
    return not any(one.starts <= span.starts and span.ends <= one.ends for one in plan)


def outside_hours(wishes: Sequence[GroupWish]) -> list[bool]:
    """Of each wish whether it lies outside of the house's hours; staff may want that, and should see it."""
    studio, window = stations.studio(), window_of(wishes)
    zone = stations.zone(studio)
    hours = stations.hours(studio, studio_day(window.starts, zone), studio_day(window.ends, zone))
    return [_is_outside(wish, hours, zone) for wish in wishes]


def _by_distance(back: int, ahead: int) -> Iterator[int]:
    for days in range(1, max(back, ahead) + 1):
        if days <= ahead:
            yield days
        if days <= back:
            yield -days


def in_the_way_of(found: Sequence[rules.Fit], wishes: Sequence[GroupWish]) -> list[list[Hold]]:
    """For each wish the holds that stand in the way of its clashes, with what they are kept for, by start."""
    keys = [{key for clash in fit.clashes for key in clash.keys} for fit in found]
    spans = [sharing(wish.whole) for wish, many in zip(wishes, keys, strict=True) if many]
    if not spans:
        return [[] for _wish in wishes]
    rows = Hold.objects.filter(reduce(or_, spans), lane__resource__in=set().union(*keys))
    rows = rows.select_related("booking__member", "booking__station", "group", "lane__resource__station")
    holds = list(rows.order_by("starts", "lane_id"))
    return [
        [one for one in holds if one.lane.resource_id in many and Span(one.starts, one.ends).overlaps(wish.whole)]
        for wish, many in zip(wishes, keys, strict=True)
    ]
