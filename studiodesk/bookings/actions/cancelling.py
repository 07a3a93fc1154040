"""Cancelling, and giving back what nobody came for."""

from __future__ import annotations

from datetime import datetime

from studiodesk.acts import act, locked
from studiodesk.answers import Refused
from studiodesk.journal.actions import call_off, record, tell
from studiodesk.people.models import Member

from ..models import Booking, BookingChange
from ..queries import rules_for, state_of, was_cancelled_by
from ..rules import keeping
from .holding import give_back, let_outages_have, wait_for_the_house
from .making import reminder_key
from .offers import cancel_kept
from .waiting import serve_freed


def fresh(booking: Booking) -> Booking:
    """The row as it is now, locked."""
    return locked(Booking.objects.filter(pk=booking.pk)).get()


@act
def cancel(
    *, booking: Booking, now: datetime, by: Member, reason: str = "", quietly: bool = False, serves: bool = True
) -> Booking:
    """Give the time back at once.  The booking is kept, its holds go.  Begun ones only by whoever runs the house.

    Done before by the same person it changes nothing.  A member is told, with the house's ``reason`` when somebody
    else cancels for them, unless the caller says it (``quietly``).  Who cancels later than the house's notice gives the
    time back all the same; it is written down as late.  Without ``serves`` nobody who waits is asked whether they want
    it: the caller does.
    """
    wait_for_the_house()
    row = fresh(booking)
    if row.cancelled_at is not None and was_cancelled_by(row, by):
        return row
    refusal = keeping.may_cancel(state_of(row), now, runs_the_house=by.may_run_the_house)
    if refusal:
        raise Refused(refusal)
    if row.offered_until is not None:
        return cancel_kept(row, now, by, reason)
    own = by.pk == row.member_id
    notice = rules_for(row.member, row.starts).number("free_cancel_hours")
    late = own and keeping.is_late(row.starts, now, notice)
    BookingChange.objects.create(booking=row, at=now, by=by, cancelled=True)
    row.cancelled_at, row.was_cancelled_late = now, late
    call_off(now=now, keys=[reminder_key(row)])
    row.sequence, row.changed_at = row.sequence + 1, now
    row.save(update_fields=["cancelled_at", "was_cancelled_late", "sequence", "changed_at"])
    freed = give_back(row)
    facts = {"member": row.member_id, "late": late, **({"reason": reason[:200]} if reason else {})}
    entry = record(code="bookings.cancelled", happened_at=now, now=now, by=by, about=row, facts=facts)
    code = "bookings.cancelled" if own else "bookings.cancelled_by_house"
    if not quietly:
        tell(entry=entry, person=row.member, code=code, unique_key=f"{code}:{row.pk}:{row.sequence}", due_at=now)
    let_outages_have(freed, now)
    if serves:
        serve_freed(row, now, freed)
    return row


@act
def release(*, booking: Booking, now: datetime) -> Booking:
    """Nobody came: the rest of the time is free again.  Answers the row, unchanged if there is nothing to release."""
    wait_for_the_house()
    row = fresh(booking)
    if row.cancelled_at or row.arrived_at or row.released_at or row.offered_until or not row.starts <= now < row.ends:
        return row
    row.released_at = now
    row.save(update_fields=["released_at"])
    freed = give_back(row)
    entry = record(code="bookings.released", happened_at=now, now=now, about=row, facts={"member": row.member_id})
    tell(
        entry=entry,
        person=row.member,
        code="bookings.released",
        unique_key=f"bookings.released:{row.pk}",
        due_at=now,
    )
    let_outages_have(freed, now)
    serve_freed(row, now, freed)
    return row
