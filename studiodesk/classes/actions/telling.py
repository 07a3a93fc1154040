"""Who is told what of a class: members as members, guests at their address."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from studiodesk.journal.actions import tell, tell_address
from studiodesk.journal.models import Entry
from studiodesk.people.models import Member

from ..models import Course, Hire, Place

State = Place.State
ALL = (State.ASKED, State.WAITING, State.OFFERED, State.BOOKED)


def tell_place(
    place: Place, entry: Entry, code: str, now: datetime, *, key: str = "", by: Member | None = None
) -> None:
    """Whoever has this place; not of what they did themselves.  ``key`` parts two tellings of one code."""
    unique = f"{code}:{place.pk}:{key}"
    if place.member is not None:
        if by is None or by.pk != place.member_id:
            tell(entry=entry, person=place.member, code=code, unique_key=unique, due_at=now)
    elif place.email:
        tell_address(entry=entry, address=place.email, code=code, unique_key=unique, due_at=now)


#: What a group's contact is told where whoever has a place is told the other.
OF_HIRE = {"classes.moved": "classes.hire_moved", "classes.called_off": "classes.hire_called_off"}


def tell_contact(hire: Hire, entry: Entry, code: str, now: datetime) -> None:
    """Whoever answers for the group that hires."""
    if hire.contact_email:
        key = f"hire:{hire.pk}:{code}:{entry.pk}"
        tell_address(entry=entry, address=hire.contact_email, code=code, unique_key=key, due_at=now)


def tell_everybody(course: Course, entry: Entry, code: str, now: datetime, states: Collection[str] = ALL) -> None:
    """Whoever has a place, waits for one or has still to confirm it, or those of ``states``; and a group's contact."""
    hire = Hire.objects.filter(course=course).first()
    if hire is not None and code in OF_HIRE:
        tell_contact(hire, entry, OF_HIRE[code], now)
    for place in course.places.filter(state__in=states).select_related("member"):
        tell_place(place, entry, code, now, key=f"{course.sequence}:{entry.pk}")


def tell_tutor(course: Course, entry: Entry, code: str, now: datetime, by: Member | None) -> None:
    """Whoever teaches it now; not of what they did themselves.  Their letter's key names no place."""
    if course.tutor is not None and (by is None or by.pk != course.tutor_id):
        key = f"{code}:tutor:{course.pk}:{entry.pk}"
        tell(entry=entry, person=course.tutor, code=code, unique_key=key, due_at=now)
