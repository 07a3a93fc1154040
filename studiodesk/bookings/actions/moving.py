"""What becomes of bookings that cannot stay: moved, all in one go or one by one, or cancelled; each person is told."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from studiodesk.acts import act, locked
from studiodesk.answers import Refusal, Refused, refuse
from studiodesk.journal.actions import call_off, record, tell
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations

from ..models import Booking, Outage
from ..queries import hit as reads
from ..queries import hours, kit_of
from ..queries import outages as outage_reads
from .cancelling import cancel, fresh
from .changing import SAME, New, change
from .holding import wait_for_the_house


@dataclass(frozen=True)
class Moved:
    """What became of one booking: where it is now, or why it could not be moved."""

    booking: Booking
    to: reads.Option | None
    refusal: Refusal | None = None


def _may(by: Member) -> None:
    if not by.may_run_the_house:
        refuse("bookings.not_yours_to_move", status=403)


def _cannot_stay(booking: Booking, outage: Outage | None, now: datetime) -> bool:
    if outage is not None:
        return any(one.pk == outage.pk for one in outage_reads.outages_hitting(booking, now))
    return booking.pk in hours.out_of_hours(now, stations.studio())


def _say_no_more(booking: Booking, now: datetime) -> None:
    """The letter that follows says all of it: one that still waits to say what is wrong is not sent."""
    call_off(now=now, prefix=f"bookings.hit:{booking.pk}:")
    call_off(now=now, prefix=f"bookings.house_closed:{booking.pk}:")


def _as_chosen(row: Booking, option: reads.Option) -> New:
    """The booking as the move makes it: without the kit that it leaves behind."""
    dropped = {item.pk for item in option.without}
    kit = {item: n for item, n in kit_of(row) if item.pk not in dropped} if dropped else SAME
    return New(station=option.station, starts=option.starts, ends=option.ends, kit=kit)


@act
def move_hit(
    *, booking: Booking, option: reads.Option, now: datetime, by: Member, outage: Outage | None = None, reason: str = ""
) -> Booking:
    """Move a booking that cannot stay; the member is told where it is now, and why.

    ``outage``: what is in its way; None: the house's hours are.  Refused: ``bookings.not_hit``, ``bookings.still_hit``,
    and whatever stands in the way of the new time; then it stands as it stood.
    """
    _may(by)
    wait_for_the_house()
    locked(Member.objects.filter(pk=booking.member_id)).get()
    row = fresh(booking)
    if not _cannot_stay(row, outage, now):
        refuse("bookings.not_hit")
    why = reason or (outage.reason if outage is not None else "")
    moved = change(booking=row, new=_as_chosen(row, option), now=now, by=by, reason=why, by_house=True)
    if outage_reads.outages_hitting(moved, now):
        refuse("bookings.still_hit")
    _say_no_more(moved, now)
    return moved


@act
def make_room(*, booking: Booking, option: reads.Option | None, now: datetime, by: Member, reason: str) -> Booking:
    """Move a booking that stands in the way of a group, or without ``option`` cancel it; the member is told, and why.

    What it gives back is the group's: nobody who waits is asked for it.

    Refused: ``bookings.not_yours_to_move``, ``bookings.begun`` for who is in or whose time it is, and whatever
    stands in the way of the new time; then it stands as it stood.
    """
    _may(by)
    wait_for_the_house()
    locked(Member.objects.filter(pk=booking.member_id)).get()
    row = fresh(booking)
    if row.cancelled_at is not None:
        return row
    if row.arrived_at is not None or row.starts <= now:
        refuse("bookings.begun")
    if option is None:
        return cancel(booking=row, now=now, by=by, reason=reason, serves=False)
    new = _as_chosen(row, option)
    return change(booking=row, new=new, now=now, by=by, reason=reason, by_house=True, serves=False)


@act
def cancel_hit(
    *, booking: Booking, now: datetime, by: Member, outage: Outage | None = None, reason: str = ""
) -> Booking:
    """Cancel a booking that cannot stay; the member is told, with the reason.  Refused: ``bookings.not_hit``."""
    _may(by)
    wait_for_the_house()
    row = fresh(booking)
    if row.cancelled_at is not None:
        return row
    if not _cannot_stay(row, outage, now):
        refuse("bookings.not_hit")
    gone = cancel(booking=row, now=now, by=by, reason=reason or (outage.reason if outage is not None else ""))
    _say_no_more(gone, now)
    return gone


def move_all(
    *,
    bookings: Sequence[Booking],
    now: datetime,
    by: Member,
    outage: Outage | None = None,
    chosen: Mapping[int, reads.Option] | None = None,
) -> list[Moved]:
    """Move every one, each in an act of its own, by start; answers what became of each.

    ``chosen``: booking → the move that was shown; without it the best that is to be had when its turn comes.  One that
    cannot be moved stays as it stands, with the reason.
    """
    _may(by)
    studio = stations.studio()
    out = []
    for booking in sorted(bookings, key=lambda one: (one.starts, one.pk)):
        if chosen is None:
            options = reads.moves_of(booking, studio, now, by)
        else:
            options = [chosen[booking.pk]] if booking.pk in chosen else []
        out.append(_first_that_works(booking, options, lambda b, o: _one(b, o, now, by, outage)))
    return out


def _one(booking: Booking, option: reads.Option, now: datetime, by: Member, outage: Outage | None) -> Booking:
    return move_hit(booking=booking, option=option, now=now, by=by, outage=outage)


def _first_that_works(
    booking: Booking, options: Sequence[reads.Option], move: Callable[[Booking, reads.Option], Booking]
) -> Moved:
    refusal = Refusal("bookings.no_move")
    for option in options:
        try:
            return Moved(move(booking, option), option)
        except Refused as refused:
            refusal = refused.refusal
    return Moved(booking, None, refusal)


@act
def tell_house_closed(*, now: datetime, by: Member, reason: str = "") -> int:
    """Tell everybody in whose time the house is not open any more that the desk is at it; each once as long as their
    booking stands as it does.  Answers how many there are."""
    _may(by)
    found = hours.hit_by_hours(now, stations.studio())
    for booking in found:
        facts = {"member": booking.member_id, **({"reason": reason[:200]} if reason else {})}
        entry = record(code="bookings.house_closed", happened_at=now, now=now, by=by, about=booking, facts=facts)
        key = f"bookings.house_closed:{booking.pk}:{booking.sequence}"
        tell(entry=entry, person=booking.member, code="bookings.house_closed", unique_key=key, due_at=now)
    return len(found)
