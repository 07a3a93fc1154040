"""What may become of a booking once it is made: cancel, arrive, leave; and how a closure is cut.  Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from studiodesk.answers import Refusal
from studiodesk.timekeeping import Span, without

EARLIEST_SIGN_IN = timedelta(hours=1)
LONGEST_PIECE = timedelta(hours=24)


@dataclass(frozen=True)
class State:
    starts: datetime
    ends: datetime
    cancelled_at: datetime | None = None
    arrived_at: datetime | None = None
    left_at: datetime | None = None
    reference: str = ""
    released_at: datetime | None = None


def is_late(starts: datetime, now: datetime, notice_hours: int) -> bool:
    """A booking given up less than so many hours before it begins; with 0 hours it is never late."""
    return bool(notice_hours) and now > starts - timedelta(hours=notice_hours)


def may_change(booking: State, now: datetime) -> Refusal | None:
    """Move, extend, shorten: as long as it is not cancelled, given back or over, and the person has not left."""
    if booking.cancelled_at is not None:
        return Refusal("bookings.cancelled_before", {"at": booking.cancelled_at})
    if booking.released_at is not None:
        return Refusal("bookings.released_before", {"at": booking.released_at})
    if booking.left_at is not None:
        return Refusal("bookings.left_already", {"at": booking.left_at})
    if booking.ends <= now:
        return Refusal("bookings.over", {"ends": booking.ends})
    return None


def may_undo(booking: State, was: State, now: datetime, notice_hours: int, *, runs_the_house: bool) -> Refusal | None:
    """A change, or a cancellation, can be taken back until the cut-off of a free cancellation.

    ``was`` is the booking before the change.  Whoever runs the house may until it begins.
    """
    if booking.arrived_at is not None or booking.left_at is not None:
        return Refusal("bookings.arrived_already", {"at": booking.arrived_at})
    cut_off = was.starts - timedelta(hours=0 if runs_the_house else notice_hours)
    if now >= cut_off:
        return Refusal("bookings.too_late_to_undo", {"until": cut_off})
    return None


def may_cancel(booking: State, now: datetime, *, runs_the_house: bool) -> Refusal | None:
    """A member may until it begins; whoever runs the house until it is over, unless the person came.

    Afterwards nobody may: that somebody did not come is part of what happened.
    """
    if booking.cancelled_at is not None:
        return Refusal("bookings.cancelled_before", {"at": booking.cancelled_at})
    if booking.released_at is not None:
        return Refusal("bookings.released_before", {"at": booking.released_at})
    if booking.arrived_at is not None:
        return Refusal("bookings.arrived_already", {"at": booking.arrived_at})
    if booking.starts <= now and not runs_the_house:
        return Refusal("bookings.begun", {"starts": booking.starts})
    if booking.ends <= now:
        return Refusal("bookings.over", {"ends": booking.ends})
    return None


def may_arrive(booking: State, now: datetime) -> Refusal | None:
    """From an hour before its start until its end."""
    if booking.cancelled_at is not None:
        return Refusal("bookings.cancelled_before", {"at": booking.cancelled_at})
    if booking.released_at is not None:
        return Refusal("bookings.released_before", {"at": booking.released_at})
    if booking.arrived_at is not None:
        return Refusal("bookings.arrived_already", {"at": booking.arrived_at})
    if now < booking.starts - EARLIEST_SIGN_IN:
        return Refusal("bookings.too_early", {"from_": booking.starts - EARLIEST_SIGN_IN})
    if now >= booking.ends:
        return Refusal("bookings.over", {"ends": booking.ends})
    return None


def may_undo_arrive(booking: State) -> Refusal | None:
    if booking.arrived_at is None:
        return Refusal("bookings.not_arrived")
    if booking.left_at is not None:
        return Refusal("bookings.left_already", {"at": booking.left_at})
    return None


def may_leave(booking: State) -> Refusal | None:
    return may_undo_arrive(booking)


def may_undo_leave(booking: State) -> Refusal | None:
    return None if booking.left_at is not None else Refusal("bookings.not_left")


def day_pieces(span: Span) -> list[Span]:
    """``span`` cut into pieces of at most 24 hours, for no hold is longer."""
    pieces, at = [], span.starts
    while at < span.ends:
        until = min(at + LONGEST_PIECE, span.ends)
        pieces.append(Span(at, until))
        at = until
    return pieces


def remnants(held: Span, freed: Span) -> list[Span]:
    """What is left of a closure's piece when ``freed`` is given back."""
    return without([held], [freed])


def standing(booking: State, now: datetime) -> str:
    """How a booking stands: "coming", "expected" (begun, nobody here), "in", "came", "did not come", "cancelled"."""
    if booking.cancelled_at is not None:
        return "cancelled"
    if booking.left_at is not None or (booking.arrived_at is not None and booking.ends <= now):
        return "came"
    if booking.arrived_at is not None:
        return "in"
    if booking.ends <= now or booking.released_at is not None:
        return "did not come"
    return "expected" if booking.starts <= now else "coming"
