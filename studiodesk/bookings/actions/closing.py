"""Taking a station or a processor out of service, and giving it back."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from studiodesk.acts import act, locked
from studiodesk.answers import Refusal, Refused
from studiodesk.journal.actions import record
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Processor, Resource, Station
from studiodesk.timekeeping import Span, without

from ..models import Hold
from ..queries import bookings_in_the_way, holds_touching
from ..rules import keeping

NAMED = 10


def _closed(*, thing: Station | Processor, **more: Any) -> list[Hold]:
    try:
        return _close(thing=thing, **more)
    except Refused as refused:
        if refused.refusal.facts:
            raise
        # The database itself refused a row: it knows the constraint's name and no more.
        raise Refused(Refusal(refused.refusal.code, {"station": thing.name})) from refused


@act
def _close(*, thing: Station | Processor, span: Span, reason: str, cause: str, now: datetime, by: Member) -> list[Hold]:
    if not by.may_run_the_house:
        raise Refused(Refusal("bookings.not_yours_to_close", {"status": 403}))
    list(locked(Resource.objects.filter(pk=thing.resource_id)))
    lanes = stations.lanes_of([thing.resource_id])[thing.resource_id]
    if span.ends <= now:
        raise Refused(Refusal("bookings.in_the_past", {"starts": span.starts}))
    way = bookings_in_the_way(lanes, span)
    refusal = keeping.in_the_way([booking.reference for booking in way[:NAMED]], len(way))
    if refusal:
        raise Refused(refusal)
    already: dict[int, list[Span]] = {lane: [] for lane in lanes}
    for hold in holds_touching(span).filter(lane_id__in=lanes):
        already[hold.lane_id].append(Span(hold.starts, hold.ends))
    # What is shut already stays as it is; only the rest is added.
    pieces = sorted(
        (lane, piece.starts, piece.ends)
        for lane in lanes
        for part in without([span], already[lane])
        for piece in keeping.day_pieces(part)
    )
    holds = Hold.objects.bulk_create(
        Hold(lane_id=lane, starts=starts, ends=ends, cause=cause, reason=reason[:200]) for lane, starts, ends in pieces
    )
    record(
        code="bookings.closed",
        happened_at=now,
        now=now,
        by=by,
        about=thing,
        facts={"starts": span.starts.isoformat(), "ends": span.ends.isoformat(), "cause": cause},
    )
    return holds


def close_station(
    *, station: Station, span: Span, reason: str, now: datetime, by: Member, cause: str = Hold.Cause.CLOSURE
) -> list[Hold]:
    """Nobody may book the station during ``span``.  Raises ``Refused("bookings.in_the_way")`` with the references of
    the bookings that stand there: move or cancel them first."""
    return _closed(thing=station, span=span, reason=reason, cause=cause, now=now, by=by)


def close_processor(
    *, processor: Processor, span: Span, reason: str, now: datetime, by: Member, cause: str = Hold.Cause.CLOSURE
) -> list[Hold]:
    """The same for every place at a processor."""
    return _closed(thing=processor, span=span, reason=reason, cause=cause, now=now, by=by)


@act
def reopen(*, thing: Station | Processor, span: Span, now: datetime, by: Member) -> int:
    """Give ``span`` back: what closures hold of it is free again.  Answers how many pieces it touched.

    What lies before ``now`` stays as it was.
    """
    if not by.may_run_the_house:
        raise Refused(Refusal("bookings.not_yours_to_close", {"status": 403}))
    list(locked(Resource.objects.filter(pk=thing.resource_id)))
    if span.ends <= now:
        raise Refused(Refusal("bookings.in_the_past", {"starts": span.starts}))
    freed = Span(max(span.starts, now), span.ends)
    lanes = stations.lanes_of([thing.resource_id])[thing.resource_id]
    touched = list(holds_touching(freed).filter(lane_id__in=lanes).exclude(cause=Hold.Cause.BOOKING))
    if not touched:
        raise Refused(Refusal("bookings.not_closed", {"name": thing.name}))
    Hold.objects.filter(pk__in=[hold.pk for hold in touched]).delete()
    Hold.objects.bulk_create(
        Hold(lane_id=hold.lane_id, starts=rest.starts, ends=rest.ends, cause=hold.cause, reason=hold.reason)
        for hold in touched
        for rest in keeping.remnants(Span(hold.starts, hold.ends), freed)
    )
    record(
        code="bookings.reopened",
        happened_at=now,
        now=now,
        by=by,
        about=thing,
        facts={"starts": freed.starts.isoformat(), "ends": freed.ends.isoformat()},
    )
    return len(touched)
