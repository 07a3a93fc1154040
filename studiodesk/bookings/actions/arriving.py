"""Signing in and out at the door, and taking a slip back.  A booking's guests come and go with it."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from studiodesk.acts import act
from studiodesk.answers import Refusal, Refused
from studiodesk.journal.actions import record
from studiodesk.people.models import Member

from ..models import Booking, Visit
from ..queries import state_of
from ..rules import keeping
from ..rules.door import Present
from .cancelling import fresh
from .letting_in import let_in, studio_of_the_door


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


def _guests_in(row: Booking) -> Any:
    return Visit.objects.filter(booking=row, kind=Visit.Kind.GUEST)


def guests_follow(row: Booking, before: int, now: datetime, by: Member) -> None:
    """Of a stay under way the guests in the house are as many as the booking says by now; they were ``before``.

    ``row`` is locked.  Raises ``Refused`` if the house has no room for those who come now.
    """
    if row.guests > before:
        let_in([Present(None, row.guests - before)], studio=studio_of_the_door(), now=now, by=by, opens=True)
    inside = _guests_in(row).filter(left_at__isnull=True)
    if not row.guests:
        inside.update(left_at=now)
    elif not inside.update(heads=row.guests):
        Visit.objects.create(kind=Visit.Kind.GUEST, heads=row.guests, booking=row, came_at=now, noted_by=by, name="")


@act
def arrive(
    *, booking: Booking, now: datetime, by: Member | None = None, tablet: object = None, override: str = ""
) -> Booking:
    """Sign in, with the guests of the booking.  Who is in already stays in, and nothing is written.

    Refused as ``may_arrive``, and with ``bookings.house_full_now`` or ``bookings.alone``, which ``override``, the
    reason, sets aside for whoever may: staff, of being alone a keyholder too.
    """
    studio = studio_of_the_door()
    row = fresh(booking)
    if row.cancelled_at is None and row.arrived_at is not None and row.left_at is None:
        return row
    refusal = keeping.may_arrive(state_of(row), now)
    if refusal is None and row.offered_until is not None:
        refusal = Refusal("bookings.only_kept", {"until": row.offered_until})
    facts: dict[str, Any] = {}
    if refusal is None:
        coming = [Present(row.member_id), *([Present(None, row.guests)] if row.guests else [])]
        facts = let_in(coming, studio=studio, now=now, by=by, override=override)
        if row.guests:
            facts["guests"] = row.guests
            Visit.objects.create(
                kind=Visit.Kind.GUEST, heads=row.guests, booking=row, came_at=now, noted_by=by, name=""
            )
    return _noted(row, refusal, "arrived_at", now, "bookings.arrived", now, by=by, tablet=tablet, facts=facts)


@act
def undo_arrive(*, booking: Booking, now: datetime, by: Member | None = None, tablet: object = None) -> Booking:
    """The sign-in was a slip: as if it had not been, but for the journal."""
    row = fresh(booking)
    refusal = keeping.may_undo_arrive(state_of(row))
    if refusal is None:
        _guests_in(row).delete()
    return _noted(row, refusal, "arrived_at", None, "bookings.arrival_undone", now, by=by, tablet=tablet)


@act
def leave(*, booking: Booking, now: datetime, by: Member | None = None, tablet: object = None) -> Booking:
    """Sign out, with whoever of the guests is still in.  Who is out already stays out, and nothing is written."""
    row = fresh(booking)
    if row.left_at is not None:
        return row
    refusal = keeping.may_leave(state_of(row))
    if refusal is None:
        _guests_in(row).filter(left_at__isnull=True).update(left_at=now)
    return _noted(row, refusal, "left_at", now, "bookings.left", now, by=by, tablet=tablet)


@act
def undo_leave(*, booking: Booking, now: datetime, by: Member | None = None, tablet: object = None) -> Booking:
    """The sign-out was a slip: the guests who went with it are in again too."""
    row = fresh(booking)
    refusal = keeping.may_undo_leave(state_of(row))
    if refusal is None:
        _guests_in(row).filter(left_at=row.left_at).update(left_at=None)
    return _noted(row, refusal, "left_at", None, "bookings.leaving_undone", now, by=by, tablet=tablet)
