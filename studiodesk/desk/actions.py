"""Acts of the desk that reach over several areas at once."""

from __future__ import annotations

from datetime import datetime

from studiodesk.acts import act
from studiodesk.bookings import actions as bookings
from studiodesk.people import actions as people
from studiodesk.people.models import Member

from . import queries


@act
def let_go(*, person: Member, cancel_bookings: bool, now: datetime, by: Member) -> int:
    """Somebody has left; with ``cancel_bookings`` what they had booked is free again.  Gives how many that were.

    A booking they are signed in for is not cancelled: they are there.  Refused as ``people.actions.set_standing`` is;
    then nothing is cancelled either.
    """
    people.set_standing(person=person, is_active=False, now=now, by=by)
    theirs = queries.can_be_cancelled(person, now) if cancel_bookings else []
    for booking in theirs:
        bookings.cancel(booking=booking, now=now, by=by)
    return len(theirs)
