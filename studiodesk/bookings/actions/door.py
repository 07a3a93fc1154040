"""Whoever is in without a booking of their own, and what is said of the sheets of a stay."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from studiodesk.acts import act, locked
from studiodesk.answers import Refused, refuse
from studiodesk.journal.actions import record
from studiodesk.people.models import Member

from ..models import Booking, Visit
from ..queries import door
from ..rules import door as rules
from .cancelling import fresh
from .letting_in import let_in, studio_of_the_door

NAME_LENGTH, PHONE_LENGTH = 120, 40


def _is_theirs(kind: str, person: Member | None) -> bool:
    """Has this person the role in which they come in?"""
    if person is None or not person.is_active:
        return False
    return person.may_run_the_house if kind == Visit.Kind.KEYHOLDER else person.is_tutor or person.is_staff


def end_forgotten(visit: Visit, now: datetime) -> None:
    """They forgot to sign out; until when they were there nobody knows."""
    visit.left_at = min(visit.came_at + rules.LONGEST_VISIT, now)
    visit.save(update_fields=["left_at"])


@act
def come_in(
    *,
    kind: str,
    now: datetime,
    by: Member,
    person: Member | None = None,
    name: str = "",
    heads: int = 1,
    phone: str = "",
    override: str = "",
) -> Visit:
    """A walk-in, a keyholder or a tutor is in the house from now on.  Who is in already stays in.

    ``heads`` counts the one who is named too.  Refused as ``rules.may_come_in`` and ``let_in``.
    """
    if kind not in (Visit.Kind.WALK_IN, Visit.Kind.KEYHOLDER, Visit.Kind.TUTOR):
        raise ValueError(f"nobody comes in as {kind!r}")
    name = " ".join(name.split())[:NAME_LENGTH]
    own = person is not None and person.pk == by.pk
    refusal = rules.may_come_in(
        kind,
        is_theirs=_is_theirs(kind, person),
        by_house=by.may_run_the_house,
        has_name=bool(name) or person is not None,
        count=heads,
    )
    if refusal:
        raise Refused(refusal)
    if not own and not by.may_run_the_house:
        refuse("bookings.walk_in_at_the_desk", status=403)
    studio = studio_of_the_door()
    if person is not None and (before := door.open_visit(person)) is not None:
        if before.came_at > now - rules.LONGEST_VISIT:
            return before
        end_forgotten(before, now)
    opens = kind == Visit.Kind.KEYHOLDER
    coming = [rules.Present(person.pk if person else None, heads)]
    facts = let_in(coming, studio=studio, now=now, by=by, override=override, opens=opens)
    visit = Visit.objects.create(
        kind=kind,
        person=person,
        name="" if person is not None else name,
        heads=heads,
        emergency_phone=phone.strip()[:PHONE_LENGTH],
        came_at=now,
        noted_by=by,
    )
    record(code="bookings.came_in", happened_at=now, now=now, by=by, about=visit, facts={"heads": heads, **facts})
    return visit


@act
def go_out(*, visit: Visit, now: datetime, by: Member) -> Visit:
    """They have left.  Who is out already stays out."""
    row = locked(Visit.objects.filter(pk=visit.pk)).get()
    if row.person_id != by.pk and not by.may_run_the_house:
        refuse("bookings.not_yours_to_let_out", status=403)
    if row.left_at is None:
        row.left_at = now
        row.save(update_fields=["left_at"])
        record(code="bookings.went_out", happened_at=now, now=now, by=by, about=row, facts={"heads": row.heads})
    return row


@act
def say_of_sheets(
    *, booking: Booking, said: str, now: datetime, by: Member | None = None, tablet: Any = None
) -> Booking:
    """Whoever logged nothing says that nothing was printed ("none"), or that they do not know ("unknown")."""
    if said not in Booking.SheetsSaid.values:
        refuse("bookings.unknown_answer", status=422)
    row = fresh(booking)
    session = rules.Session(row.processor_id is not None, row.arrived_at, row.left_at)
    refusal = rules.may_say_of_sheets(session)
    if refusal:
        raise Refused(refusal)
    if row.sheets_said != said:
        row.sheets_said = said
        row.save(update_fields=["sheets_said"])
        facts = {"said": str(said)}
        record(code="bookings.sheets_said", happened_at=now, now=now, by=by, tablet=tablet, about=row, facts=facts)
    return row
