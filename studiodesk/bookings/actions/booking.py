"""Book, cancel, arrive, leave."""

from __future__ import annotations

import secrets
from datetime import datetime
from typing import Any

from studiodesk.acts import act, locked
from studiodesk.answers import Refusal, Refused
from studiodesk.journal.actions import record, tell
from studiodesk.people.models import Member
from studiodesk.stations.models import Process, Processor, Station
from studiodesk.timekeeping import Span

from ..models import Booking, Hold, ZoneHold
from ..queries import Look, look, was_cancelled_by
from ..rules import asking, keeping
from ..rules.places import weave

#: Letters and digits that nobody mistakes for another when reading them out.
SIGNS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"


def new_reference() -> str:
    """Eight signs, 31⁸ of them: the unique constraint decides if two ever meet."""
    return "".join(secrets.choice(SIGNS) for _ in range(8))


def book(
    *,
    member: Member,
    station: Station,
    process: Process | None,
    starts: datetime,
    ends: datetime,
    now: datetime,
    by: Member,
) -> Booking:
    """Book ``station`` for ``member``, with a place at a processor if a process is named.

    Raises ``Refused`` with a code of ``rules.asking``; then nothing is written.
    """
    try:
        return _book(member=member, station=station, process=process, starts=starts, ends=ends, now=now, by=by)
    except Refused as refused:
        if refused.refusal.facts:
            raise
        # The database itself refused a row: it knows the constraint's name and no more.
        facts = {"station": station.name, "zone": station.zone.name if station.zone else ""}
        raise Refused(Refusal(refused.refusal.code, facts)) from refused


@act
def _book(
    *,
    member: Member,
    station: Station,
    process: Process | None,
    starts: datetime,
    ends: datetime,
    now: datetime,
    by: Member,
) -> Booking:
    early = asking.order_refusal(starts, ends)
    if early:
        raise Refused(early)
    still_here = locked(Member.objects.filter(pk=member.pk)).values_list("is_active", flat=True).get()
    if not still_here:
        raise Refused(Refusal("bookings.not_a_member", {"status": 422}))
    seen = look(member=member, station=station, process=process, span=Span(starts, ends), now=now, by=by, lock=locked)
    answer = asking.may_book(seen.asked, seen.station, seen.processors, seen.house)
    if isinstance(answer, Refusal):
        raise Refused(answer)
    machine = seen.machines[answer.code] if answer else None
    booking = Booking.objects.create(
        reference=new_reference(),
        member=member,
        station=station,
        process=process,
        processor=machine,
        starts=starts,
        ends=ends,
        made_at=now,
        recorded_at=now,
        source=Booking.Source.SITE if by.pk == member.pk else Booking.Source.DESK,
    )
    _hold(booking, seen, answer, machine)
    if process is not None and station.zone_id is not None:
        ZoneHold.objects.create(zone_id=station.zone_id, light=process.light, starts=starts, ends=ends, booking=booking)
    record(
        code="bookings.booked",
        happened_at=now,
        now=now,
        by=by,
        about=booking,
        facts={"member": member.pk, "station": station.pk, "starts": starts.isoformat(), "ends": ends.isoformat()},
    )
    return booking


def _hold(booking: Booking, seen: Look, place: asking.ProcessorFacts | None, machine: Processor | None) -> None:
    """The station from set-up to clear-up, the place at the processor for the booking's own times."""
    whole = seen.asked.span.widened(seen.station.set_up, seen.station.clear_up)
    held = [(seen.lanes[booking.station.resource_id][0], whole)]
    if place is not None and machine is not None:
        lanes = seen.lanes[machine.resource_id]
        held += [(lanes[piece.lane], piece.span) for piece in weave(seen.asked.span, place.lanes) or ()]
    # Sorted, so that two acts never wait for each other in a ring.
    Hold.objects.bulk_create(
        Hold(lane_id=lane, starts=span.starts, ends=span.ends, cause=Hold.Cause.BOOKING, booking=booking)
        for lane, span in sorted(held, key=lambda pair: (pair[0], pair[1].starts))
    )


def _fresh(booking: Booking) -> Booking:
    return locked(Booking.objects.filter(pk=booking.pk)).get()


def _state(booking: Booking) -> keeping.State:
    return keeping.State(
        booking.starts, booking.ends, booking.cancelled_at, booking.arrived_at, booking.left_at, booking.reference
    )


@act
def cancel(*, booking: Booking, now: datetime, by: Member) -> Booking:
    """Give the time back at once.  The booking is kept, its holds go.  Begun ones only by whoever runs the house.

    Done before by the same person it changes nothing.  A member is told when somebody else cancels for them.
    """
    row = _fresh(booking)
    if row.cancelled_at is not None and was_cancelled_by(row, by):
        return row
    refusal = keeping.may_cancel(_state(row), now, runs_the_house=by.may_run_the_house)
    if refusal:
        raise Refused(refusal)
    Hold.objects.filter(booking=row).delete()
    ZoneHold.objects.filter(booking=row).delete()
    row.cancelled_at = now
    row.save(update_fields=["cancelled_at"])
    entry = record(
        code="bookings.cancelled", happened_at=now, now=now, by=by, about=row, facts={"member": row.member_id}
    )
    if by.pk != row.member_id:
        code = "bookings.cancelled_by_house"
        tell(entry=entry, person=row.member, code=code, unique_key=f"{code}:{row.pk}", due_at=now)
    return row


def _noted(
    row: Booking, refusal: Refusal | None, field: str, at: datetime | None, code: str, now: datetime, **who: Any
) -> Booking:
    """Unless refused, set one of the booking's moments (or take it back with None) and write down who did."""
    if refusal:
        raise Refused(refusal)
    setattr(row, field, at)
    row.save(update_fields=[field])
    record(code=code, happened_at=now, now=now, about=row, **who)
    return row


@act
def arrive(*, booking: Booking, now: datetime, by: Member | None = None, tablet: object = None) -> Booking:
    """Sign in.  Who is in already stays in, and nothing is written."""
    row = _fresh(booking)
    if row.cancelled_at is None and row.arrived_at is not None and row.left_at is None:
        return row
    refusal = keeping.may_arrive(_state(row), now)
    return _noted(row, refusal, "arrived_at", now, "bookings.arrived", now, by=by, tablet=tablet)


@act
def undo_arrive(*, booking: Booking, now: datetime, by: Member | None = None, tablet: object = None) -> Booking:
    """The sign-in was a slip: as if it had not been, but for the journal."""
    row = _fresh(booking)
    refusal = keeping.may_undo_arrive(_state(row))
    return _noted(row, refusal, "arrived_at", None, "bookings.arrival_undone", now, by=by, tablet=tablet)


@act
def leave(*, booking: Booking, now: datetime, by: Member | None = None, tablet: object = None) -> Booking:
    """Sign out.  Who is out already stays out, and nothing is written."""
    row = _fresh(booking)
    if row.left_at is not None:
        return row
    refusal = keeping.may_leave(_state(row))
    return _noted(row, refusal, "left_at", now, "bookings.left", now, by=by, tablet=tablet)


@act
def undo_leave(*, booking: Booking, now: datetime, by: Member | None = None, tablet: object = None) -> Booking:
    """The sign-out was a slip."""
    row = _fresh(booking)
    refusal = keeping.may_undo_leave(_state(row))
    return _noted(row, refusal, "left_at", None, "bookings.leaving_undone", now, by=by, tablet=tablet)
