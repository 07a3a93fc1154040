"""What the desk says of shifts: those that nobody has, the last hand-over note, the bookings in the time of one."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from studiodesk.bookings import queries as bookings
from studiodesk.bookings.models import Booking
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Shift, Studio
from studiodesk.stations.rules.shifts import OPEN_7D
from studiodesk.timekeeping import Span, without

#: A hand-over note that is older says nothing of today.
NOTE_LASTS = timedelta(days=3)
#: How long before its note a shift can have begun: a day's length, and the day in which a note is still taken.
NOTE_AFTER = timedelta(days=2)


@dataclass(frozen=True)
class ShiftsAtDesk:
    """``readers``: besides staff, the ids of whoever may read the note.  ``begun``: whoever has one is in."""

    uncovered: list[Shift] = field(default_factory=list)
    note: Shift | None = None
    readers: frozenset[int] = frozenset()
    begun: list[Shift] = field(default_factory=list)

    @property
    def signature(self) -> tuple[object, ...]:
        note = (self.note.pk, self.note.handed_over_at) if self.note else None
        return tuple(one.pk for one in self.uncovered), note, sorted(self.readers)

    def may_read(self, member: Member) -> bool:
        return self.note is not None and (member.is_staff or member.pk in self.readers)


def shifts_at_desk(now: datetime) -> ShiftsAtDesk:
    """The shifts of a week ahead that nobody has, and a note of the last three days; one query."""
    around = Span(now - NOTE_LASTS - NOTE_AFTER, now + OPEN_7D)
    rows = list(stations.shifts(around))
    open_ = [
        row for row in rows if row.person_id is None and row.called_off_at is None and now < row.starts <= now + OPEN_7D
    ]
    noted = [row for row in rows if row.hand_over and row.handed_over_at and row.handed_over_at > now - NOTE_LASTS]
    note = max(noted, key=lambda row: (row.handed_over_at, row.pk), default=None)
    begun = bookings.begun_of(rows, now)
    if note is None:
        return ShiftsAtDesk(open_, begun=begun)
    following = (row for row in rows if row.starts > note.starts and row.person_id and row.called_off_at is None)
    after = next(following, None)
    readers = frozenset(row.person_id for row in (note, after) if row and row.person_id)
    return ShiftsAtDesk(open_, note, readers, begun)


def bookings_in(shift: Shift, studio: Studio) -> list[Booking]:
    """The bookings that stand in the time of this shift.

    Where the house opens by shifts, only those that no other shift covers: the others have an open house all the same.
    """
    span = Span(shift.starts, shift.ends)
    found = list(bookings.in_between(span))
    if not studio.opens_by_shifts:
        return found
    rows = stations.shifts(span).filter(person__isnull=False, called_off_at__isnull=True).exclude(pk=shift.pk)
    others = [Span(one.starts, one.ends) for one in rows]

    def is_left_alone(booking: Booking) -> bool:
        stay = Span(booking.starts, booking.ends).clipped_to(span)
        return stay is not None and bool(without([stay], others))

    return [booking for booking in found if is_left_alone(booking)]
