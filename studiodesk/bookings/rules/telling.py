"""Whether a letter that waited is still worth sending, by how its booking stands when it is its turn.  Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class Standing:
    """What of a booking decides that."""

    starts: datetime
    ends: datetime
    cancelled_at: datetime | None = None
    arrived_at: datetime | None = None
    offered_until: datetime | None = None
    sequence: int = 0


def _is_of_now(key: str, sequence: int) -> bool:
    """A key ends with how often the booking had been changed when the letter was planned, or with no number at all."""
    last = key.rpartition(":")[2]
    return not (key.count(":") >= 2 and last.isdigit()) or int(last) == sequence


def is_worth_saying(code: str, booking: Standing, key: str, now: datetime) -> bool:
    """False for a reminder of what was cancelled, moved, has begun or was signed in for, for an offer that stands no
    more, and for what is in the way of a booking that nobody waits for any longer."""
    stands = booking.cancelled_at is None
    if code == "bookings.reminder":
        waits = booking.arrived_at is None and now < booking.starts
        return stands and waits and booking.offered_until is None and _is_of_now(key, booking.sequence)
    if code == "bookings.offered":
        return stands and booking.offered_until is not None and now < booking.offered_until
    if code in {"bookings.hit", "bookings.hit_no_more", "bookings.house_closed", "bookings.overrun"}:
        return stands and now < booking.ends
    return True
