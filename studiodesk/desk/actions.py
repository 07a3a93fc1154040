"""Acts of the desk that reach over several areas at once."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from studiodesk.acts import act
from studiodesk.bookings import actions as bookings
from studiodesk.classes import actions as classes
from studiodesk.classes.queries import places_to_come
from studiodesk.people import actions as people
from studiodesk.people.models import Member
from studiodesk.stations import actions as stations
from studiodesk.stations import queries as shift_queries
from studiodesk.stations.models import Shift
from studiodesk.stations.queries import shifts_to_come, studio

from . import queries


@act
def let_go(*, person: Member, cancel_bookings: bool, now: datetime, by: Member) -> int:
    """Somebody has left; with ``cancel_bookings`` what they had booked is free again.  Gives how many that were.

    Their shifts to come have nobody again, and their places in classes to come go to whoever waits.  A booking they are
    signed in for is not cancelled: they are there.
    Refused as ``people.actions.set_standing`` is; then nothing is cancelled either.
    """
    classes.wait_for_classes(person, now)  # before the house, as whoever plans or moves a class does
    bookings.wait_for_the_house()  # before the person's row, as whoever books does
    people.set_standing(person=person, is_active=False, now=now, by=by)
    for shift in shifts_to_come(person, now):
        stations.give_back(shift=shift, now=now, by=by)
    for place in places_to_come(person, now):
        classes.give_up(place=place, now=now, by=by, by_house=True)
    theirs = queries.can_be_cancelled(person, now) if cancel_bookings else []
    for booking in theirs:
        bookings.cancel(booking=booking, now=now, by=by)
    return len(theirs)


@act
def set_roles(*, person: Member, roles: Iterable[str], now: datetime, by: Member) -> int:
    """Grant and revoke roles; whoever may have no shift any more has none.  Gives how many shifts have nobody now.

    Refused as ``people.actions.set_roles`` is; then nothing is given back either.
    """
    after = people.set_roles(person=person, roles=roles, now=now, by=by)
    if shift_queries.hand(after).may_hold:
        return 0
    theirs = list(shifts_to_come(after, now))
    for shift in theirs:
        stations.give_back(shift=shift, now=now, by=by)
    return len(theirs)


@act
def call_off_shift(*, shift: Shift, cancel_bookings: bool, now: datetime, by: Member) -> int:
    """A shift does not take place; with ``cancel_bookings`` what stands in its time does not either.  Gives how many.

    Bookings that another shift covers stay, and so does whoever is signed in.
    """
    theirs = queries.bookings_in(shift, studio()) if cancel_bookings else []
    stations.call_off(shift=shift, now=now, by=by)
    waiting = [booking for booking in theirs if booking.arrived_at is None and booking.ends > now]
    for booking in waiting:
        bookings.cancel(booking=booking, now=now, by=by)
    return len(waiting)
