"""The waiting list: who waits in which order, what could be had for them now, and what they were offered."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import cached_property
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Count, DateTimeField, Max, Q, QuerySet
from django.db.models.functions import Coalesce

from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations.models import KitItem, Process, Processor, Station, Studio
from studiodesk.timekeeping import Span, studio_day

from ..models import Booking, Offer, WaitingWish
from ..rules import waiting as rules
from ..rules.needs import Need, need_from_json
from .finding import free_times
from .needs import made_for
from .touching import grid_of, has_read, note_facts

#: So many days are read at once when a far window is looked through.
DAYS_AT_ONCE = 14
State = WaitingWish.State


@dataclass
class Rooms:
    """The house as the waiting list needs it, read once for all wishes."""

    studio: Studio
    stations: list[Station]
    machines: list[Processor]
    fitting: dict[Need, list[Station]] = field(default_factory=dict)

    @cached_property
    def zone(self) -> ZoneInfo:
        return stations.zone(self.studio)

    @cached_property
    def processes(self) -> dict[str, Process]:
        return {process.code: process for station in self.stations for process in station.processes.all()}

    def made_for(self, need: Need) -> list[Station]:
        """The stations that meet the need."""
        if need not in self.fitting:
            self.fitting[need] = made_for(need, self.stations, self.machines)
        return self.fitting[need]


def rooms(studio: Studio | None = None) -> Rooms:
    """Three queries, or two if the studio is there already."""
    return Rooms(studio or stations.studio(), list(stations.stations().order_by("pk")), list(stations.processors()))


def need_of(wish: WaitingWish) -> Need:
    return need_from_json(wish.need)


def _waiting(span: Span | None = None) -> QuerySet[WaitingWish]:
    rows = WaitingWish.objects.filter(state=State.WAITING)
    if span is not None:
        rows = rows.filter(not_before__lt=span.ends, not_after__gt=span.starts)
    return rows


def somebody_waits(span: Span | None = None) -> bool:
    """One query, however many wait."""
    return _waiting(span).exists()


def _in_order(rows: QuerySet[WaitingWish]) -> QuerySet[WaitingWish]:
    """Who wished first comes first; whoever let an offer run out stands behind those who wished until then."""
    let_go = Q(offers__answer=Offer.Answer.RAN_OUT)
    rows = rows.annotate(
        since=Coalesce(Max("offers__answered_at", filter=let_go), "made_at", output_field=DateTimeField()),
        ran_out=Count("offers", filter=let_go),
    )
    return rows.order_by("since", "made_at", "pk")


def line(span: Span | None = None) -> list[WaitingWish]:
    """Those who wait, in the order in which they are asked; with ``span`` only those whose window touches it."""
    return list(_in_order(_waiting(span).filter(member__is_active=True)).select_related("member"))


def times_run_out(wish: WaitingWish) -> int:
    """How many offers this wish let run out."""
    return wish.offers.filter(answer=Offer.Answer.RAN_OUT).count()


def _not_again(wish: WaitingWish, now: datetime) -> list[Span]:
    """When the person is here anyway, and the times that this wish was offered before."""
    own = Q(member=wish.member_id, cancelled_at__isnull=True, released_at__isnull=True)
    rows = Booking.objects.filter(own | Q(offer__wish=wish.pk), ends__gt=now)
    return [Span(starts, ends) for starts, ends in rows.values_list("starts", "ends")]


@dataclass(frozen=True)
class Stay:
    """A stay that could be booked for a wish."""

    station: Station
    process: Process | None
    span: Span
    day: date


def stays_for(wish: WaitingWish, house: Rooms, now: datetime, within: Span | None = None) -> Iterator[Stay]:
    """What is to be had for a wish, earliest first.  ``within``: only what shares an instant with it."""
    need = need_of(wish)
    many = house.made_for(need)
    process = house.processes.get(need.process)
    if not many or (need.process and process is None):
        return
    soonest = now + rules.SOONEST
    window = Span(wish.not_before, wish.not_after)
    reach = window if within is None else window.clipped_to(within.widened(need.stay, need.stay))
    reach = reach.clipped_to(Span(soonest, max(wish.not_after, soonest + need.stay))) if reach else None
    if reach is None:
        return
    avoid = _not_again(wish, now)
    first, last = studio_day(reach.starts, house.zone), studio_day(reach.ends, house.zone)
    number = {station.pk: place for place, station in enumerate(many)}
    while first <= last:
        days = min(DAYS_AT_ONCE, (last - first).days + 1)
        found = free_times(
            studio=house.studio,
            stations_wanted=many,
            processors=[m for m in house.machines if m.process_id == process.pk] if process else None,
            process=process,
            day=first,
            length=need.stay,
            now=now,
            by=wish.member,
            enough=100_000,
            days=days,
        )
        runs = [rules.Run(number[one.station.pk], one.station.kind, one.starts, one.last_start) for one in found]
        for stay in rules.stays(
            runs,
            need,
            not_before=soonest,
            avoid=avoid,
            grid=grid_of(house.studio, wish.member),
            zone=house.zone,
            within=within,
        ):
            yield Stay(many[stay.station], process, stay.span, studio_day(stay.span.starts, house.zone))
        first += timedelta(days=days)


def unread_for(member: Member, need: Need, house: Rooms) -> Processor | None:
    """The machine whose safety note has to be read before anything can be offered; None if none has."""
    process = house.processes.get(need.process)
    return None if process is None else _unread(member, [process]).get(process.pk)


def _unread(member: Member, many: Iterable[Process]) -> dict[int, Processor]:
    """Process id → its first machine, where the person has read the note of none of its machines: one query."""
    found: dict[int, Processor] = {}
    read = set()
    for machine in note_facts(Processor.objects.filter(process__in=list(many)), member).order_by("pk"):
        found.setdefault(machine.process_id, machine)
        if has_read(machine):
            read.add(machine.process_id)
    return {process: machine for process, machine in found.items() if process not in read}


def kit_for(need: Need) -> dict[KitItem, int] | None:
    """The kit of a need in rows; None if an item is not there any more."""
    if not need.kit:
        return {}
    wanted = dict(need.kit)
    rows = {item: wanted[item.code] for item in KitItem.objects.filter(code__in=wanted)}
    return rows if len(rows) == len(wanted) else None


def access_wish(member: Member, pk: int) -> WaitingWish:
    """One's own wish, or anybody's for whoever runs the house; ``WaitingWish.DoesNotExist`` otherwise."""
    rows = WaitingWish.objects.select_related("member")
    return rows.get(pk=pk) if member.may_run_the_house else rows.get(pk=pk, member=member)


def offer_of(booking: Booking) -> Offer | None:
    """What a booking was offered as; None if it was simply booked."""
    return Offer.objects.filter(booking=booking.pk).select_related("wish").first()


def open_needs(member: Member) -> list[Need]:
    """What somebody waits for, or has been offered and not answered."""
    rows = WaitingWish.objects.filter(member=member.pk, state__in=[State.WAITING, State.OFFERED])
    return [need_of(wish) for wish in rows]


@dataclass(frozen=True)
class Waited:
    """A wish as a page shows it.  ``offer`` is the open one; ``unread``: a safety note has to be read first."""

    wish: Any
    need: Need
    process: Process | None
    place: int | None
    offer: Offer | None
    unread: Processor | None = None
    stations: Sequence[Station] = ()

    @property
    def kinds(self) -> list[str]:
        return list(dict.fromkeys(station.kind for station in self.stations))


def _waited(wishes: Sequence[Any], house: Rooms, member: Member | None = None) -> list[Waited]:
    """With everybody's place; ``member``: who is asked to read a note that they have not read."""
    everybody = list(_in_order(WaitingWish.objects.filter(state__in=[State.WAITING, State.OFFERED])))
    placed = rules.places(
        [
            rules.InLine(
                one.pk,
                Span(one.not_before, one.not_after),
                frozenset(station.pk for station in house.made_for(need_of(one))),
            )
            for one in everybody
        ]
    )
    offers = Offer.objects.filter(wish__in=[wish.pk for wish in wishes], answer="")
    open_offers = {
        offer.wish_id: offer
        for offer in offers.select_related("booking__station", "booking__process", "booking__processor")
    }
    unread = _unread(member, house.processes.values()) if member is not None else {}
    return [
        Waited(
            wish=wish,
            need=(need := need_of(wish)),
            process=(process := house.processes.get(need.process)),
            unread=unread.get(process.pk) if process else None,
            place=placed.get(wish.pk) if wish.state == State.WAITING else None,
            offer=open_offers.get(wish.pk),
            stations=house.made_for(need),
        )
        for wish in wishes
    ]


def waited_for_by(member: Member, now: datetime, ended: timedelta = timedelta(days=14)) -> list[Waited]:
    """Somebody's wishes: offers first, then what they wait for by day, then what ended lately; eight queries."""
    rows = WaitingWish.objects.filter(member=member.pk).filter(Q(ended_at__isnull=True) | Q(ended_at__gt=now - ended))
    order = {State.OFFERED: 0, State.WAITING: 1}
    wishes = sorted(_in_order(rows), key=lambda wish: (order.get(wish.state, 2), wish.not_before, wish.pk))
    return _waited(wishes, rooms(), member) if wishes else []


def everybody_waiting() -> list[Waited]:
    """Who waits for what, in the order in which they are asked."""
    rows = WaitingWish.objects.filter(state__in=[State.WAITING, State.OFFERED], member__is_active=True)
    wishes = list(_in_order(rows).select_related("member"))
    return _waited(wishes, rooms()) if wishes else []


@dataclass(frozen=True)
class WaitingDay:
    """So many people wait for something on this day; ``evening``: all of them from 17:00 on."""

    day: date
    people: int
    evening: bool


def _days(wishes: Iterable[WaitingWish], first: date, last: date, zone: ZoneInfo) -> Iterator[tuple[date, int, bool]]:
    for wish in wishes:
        for window in rules.windows(need_of(wish), zone):
            day = studio_day(window.starts, zone)
            if first <= day <= last:
                yield day, wish.member_id, window.starts.astimezone(zone).hour >= 17


def waiting_days(now: datetime, zone: ZoneInfo, days: int = 7) -> list[WaitingDay]:
    """For the desk: on which of the next days how many people wait; one query."""
    first = studio_day(now, zone)
    last = first + timedelta(days=days - 1)
    rows = _waiting().filter(first_day__lte=last, last_day__gte=first, not_after__gt=now, member__is_active=True)
    found = sorted(_days(rows, first, last, zone))
    out = []
    for day, group in groupby(found, key=lambda one: one[0]):
        of_day = list(group)
        out.append(WaitingDay(day, len({one[1] for one in of_day}), all(one[2] for one in of_day)))
    return out
