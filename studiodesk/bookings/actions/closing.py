"""Taking things out of service over whatever is booked, and giving them back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from studiodesk.acts import act, locked
from studiodesk.answers import Refusal, Refused, refuse
from studiodesk.journal.actions import record, tell
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations.models import KitItem, Processor, Resource, Service, Station
from studiodesk.timekeeping import Span, without

from ..models import Booking, FaultReport, Hold, Outage
from ..queries import TAKEN, holds_touching
from ..queries import outages as reads
from ..queries.groups_hit import groups_hit
from ..rules import keeping
from ..rules import outages as rules
from .giving_back import no_longer_hit, take_from
from .groups_hit import tell_group_hit
from .holding import let_outages_have

Thing = Station | Processor | KitItem


@dataclass(frozen=True)
class Shut:
    """What was made: the outage, the bookings that stand in it, and what it keeps so far."""

    outage: Outage
    hits: list[Booking]
    holds: list[Hold]


def _may(by: Member) -> None:
    if not by.may_run_the_house:
        refuse("bookings.not_yours_to_close", status=403)


def _facts_put_in(work: Any, things: Sequence[Thing]) -> Any:
    """The database itself may refuse a row: it knows its constraint's name and no more."""
    try:
        return work()
    except Refused as refused:
        if refused.refusal.facts or not things:
            raise
        raise Refused(Refusal(refused.refusal.code, {"station": things[0].name})) from refused


def shut(
    *,
    things: Sequence[Thing],
    span: Span,
    reason: str,
    cause: str,
    now: datetime,
    by: Member,
    service: Service | None = None,
    report: FaultReport | None = None,
) -> Shut:
    """Nobody books ``things`` during ``span`` any more.  Who has already stays for the moment, is told, and is listed
    until they are moved or cancelled; what they give back falls to the outage.

    Refused: ``bookings.not_yours_to_close``, ``bookings.nothing_to_close``, ``bookings.in_the_past``.
    """
    return _facts_put_in(
        lambda: _shut(
            things=things, span=span, reason=reason, cause=cause, now=now, by=by, service=service, report=report
        ),
        things,
    )


@act
def _shut(
    *,
    things: Sequence[Thing],
    span: Span,
    reason: str,
    cause: str,
    now: datetime,
    by: Member,
    service: Service | None,
    report: FaultReport | None,
) -> Shut:
    _may(by)
    if not things:
        refuse("bookings.nothing_to_close")
    if span.ends <= now:
        refuse("bookings.in_the_past", starts=span.starts)
    keys = sorted({thing.resource_id for thing in things})
    list(locked(Resource.objects.filter(pk__in=keys).order_by("pk")))
    outage = Outage.objects.create(
        cause=cause,
        service=service,
        starts=span.starts,
        ends=span.ends,
        reason=reason.strip()[:200],
        made_at=now,
        made_by=by,
    )
    outage.resources.set(keys)
    holds = _keep_what_is_free(outage, keys)
    hits = reads.who_is_hit(keys, span, now)
    facts = {
        "things": keys,
        "starts": span.starts.isoformat(),
        "ends": span.ends.isoformat(),
        "cause": cause,
        "hit": [booking.pk for booking in hits],
        **({"service": service.pk} if service else {}),
    }
    record(code="bookings.closed", happened_at=now, now=now, by=by, about=outage, facts=facts)
    for booking in hits:
        tell_hit(booking, outage, now, by)
    for group in groups_hit(keys, span, now):
        tell_group_hit(group, outage, now, by)
    if report is not None:
        FaultReport.objects.filter(pk=report.pk, settled_at__isnull=True).update(outage=outage)
    return Shut(outage, hits, holds)


def _keep_what_is_free(outage: Outage, keys: Sequence[int]) -> list[Hold]:
    """Every lane wherever no booking and no other outage has it; what somebody has comes later."""
    span = Span(outage.starts, outage.ends)
    lanes = [lane for many in stations.lanes_of(list(keys)).values() for lane in many]
    taken: dict[int, list[Span]] = {lane: [] for lane in lanes}
    for lane, starts, ends in holds_touching(span).filter(lane_id__in=lanes).values_list("lane_id", "starts", "ends"):
        taken[lane].append(Span(starts, ends))
    pieces = sorted(
        (lane, piece.starts, piece.ends)
        for lane in lanes
        for part in without([span], taken[lane])
        for piece in keeping.day_pieces(part)
    )
    return Hold.objects.bulk_create(
        Hold(lane_id=lane, starts=starts, ends=ends, cause=outage.cause, reason=outage.reason, outage=outage)
        for lane, starts, ends in pieces
    )


def tell_hit(booking: Booking, outage: Outage, now: datetime, by: Member | None) -> None:
    """Write down that the outage stands in the way, and tell whoever booked; what is only kept is told when taken."""
    facts = {"outage": outage.pk, "member": booking.member_id, "reason": outage.reason}
    entry = record(code="bookings.hit", happened_at=now, now=now, by=by, about=booking, facts=facts)
    if booking.offered_until is None:
        key = f"bookings.hit:{booking.pk}:{outage.pk}"
        tell(entry=entry, person=booking.member, code="bookings.hit", unique_key=key, due_at=now)


def shut_service(*, service: Service, span: Span, reason: str, now: datetime, by: Member) -> Shut:
    """Everything that needs ``service`` is out of service, and nothing else.

    Who booked a process at another station is hit through its processor.  Refused: ``bookings.nothing_needs_it``.
    """
    things = reads.needing(service)
    if not things:
        refuse("bookings.nothing_needs_it", name=service.name)
    cause = Outage.Cause.SERVICE
    return shut(things=things, span=span, reason=reason, cause=cause, now=now, by=by, service=service)


def close_station(
    *, station: Station, span: Span, reason: str, now: datetime, by: Member, cause: str = Hold.Cause.CLOSURE
) -> list[Hold]:
    """``shut`` for one station; answers what is kept for it at once."""
    return shut(things=[station], span=span, reason=reason, cause=cause, now=now, by=by).holds


def close_processor(
    *, processor: Processor, span: Span, reason: str, now: datetime, by: Member, cause: str = Hold.Cause.CLOSURE
) -> list[Hold]:
    """The same for every place at a processor."""
    return shut(things=[processor], span=span, reason=reason, cause=cause, now=now, by=by).holds


def _free(span: Span, now: datetime) -> Span:
    found = rules.freed(span, now)
    if isinstance(found, Refusal):
        raise Refused(found)
    return found


@act
def reopen(*, thing: Thing, span: Span, now: datetime, by: Member, outage: Outage | None = None) -> int:
    """Give ``span`` back: what is out of service of it is free again.  Answers how many pieces it touched.

    With ``outage`` only that one lets go, and another that wants the time has it.  What lies before ``now`` stays as
    it was.  Refused: ``bookings.not_closed`` and the refusals of ``shut``.
    """
    _may(by)
    list(locked(Resource.objects.filter(pk=thing.resource_id)))
    part = _free(span, now)
    rows = Outage.objects.filter(resources=thing.resource_id, starts__lt=part.ends, ends__gt=part.starts)
    outages = list(rows.filter(pk=outage.pk) if outage is not None else rows.order_by("pk"))
    hit = reads.who_is_hit([thing.resource_id], part, now) if outages else []
    touched, kept = take_from(outages, [thing.resource_id], part)
    if outage is None:
        bare, rests = _bare_closures(thing.resource_id, part)
        touched, kept = [*touched, *bare], [*kept, *rests]
    if not touched and not outages:
        refuse("bookings.not_closed", name=thing.name)
    facts = {"starts": part.starts.isoformat(), "ends": part.ends.isoformat()}
    record(code="bookings.reopened", happened_at=now, now=now, by=by, about=thing, facts=facts)
    let_outages_have(touched, now, kept)
    no_longer_hit(hit, now, by)
    return len(touched)


def _bare_closures(resource: int, part: Span) -> tuple[list[Hold], list[Hold]]:
    """Closures from before there were outages, cut as they always were: what they kept, and what they keep."""
    bare = holds_touching(part).filter(lane__resource=resource, outage__isnull=True)
    touched = list(bare.exclude(cause__in=TAKEN).select_related("lane"))
    Hold.objects.filter(pk__in=[hold.pk for hold in touched]).delete()
    rests = Hold.objects.bulk_create(
        Hold(lane_id=hold.lane_id, starts=rest.starts, ends=rest.ends, cause=hold.cause, reason=hold.reason)
        for hold in touched
        for rest in keeping.remnants(Span(hold.starts, hold.ends), part)
    )
    return touched, rests


@act
def end_early(*, outage: Outage, now: datetime, by: Member) -> None:
    """Everything of the outage is in service again from ``now`` on, and the faults that it was made for are settled.

    One that has not begun never was.  Refused: ``bookings.outage_over``.
    """
    _may(by)
    keys = reads.resource_ids(outage)
    list(locked(Resource.objects.filter(pk__in=keys).order_by("pk")))
    row = locked(Outage.objects.filter(pk=outage.pk)).first()
    if row is None or row.ends <= now:
        refuse("bookings.outage_over")
    part = _free(Span(row.starts, row.ends), now)
    hit = reads.who_is_hit(keys, part, now)
    FaultReport.objects.filter(outage=row, settled_at__isnull=True).update(settled_at=now, settled_by=by)
    record(
        code="bookings.outage_ended",
        happened_at=now,
        now=now,
        by=by,
        about=row,
        facts={"things": keys, "ends": row.ends.isoformat()},
    )
    touched, kept = take_from([row], keys, part)
    let_outages_have(touched, now, kept)
    no_longer_hit(hit, now, by)
