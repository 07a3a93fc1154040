"""What the acts on shifts share: rows under a lock, the entry, the letters."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from studiodesk.acts import locked
from studiodesk.answers import Refusal, Refused, refuse
from studiodesk.journal.actions import record, tell
from studiodesk.journal.models import Entry
from studiodesk.people.models import Member
from studiodesk.timekeeping import Span

from .. import queries
from ..models import Shift, ShiftSwap


def require(refusal: Refusal | None) -> None:
    if refusal is not None:
        raise Refused(refusal)


def only_staff(by: Member) -> None:
    if not (by.is_active and by.is_staff):
        refuse("stations.staff_only", status=403)


def locked_shift(shift: Shift) -> tuple[Shift, ShiftSwap | None]:
    """The row as it is now, and whoever asks that it be taken over."""
    row = locked(Shift.objects.filter(pk=shift.pk)).get()
    return row, ShiftSwap.objects.filter(shift=row, settled_at__isnull=True).first()


def locked_for(shift: Shift, person: Member) -> tuple[Shift, ShiftSwap | None, Member, list[Span]]:
    """The person's row first, then the shift's; and when that person has others."""
    whom = locked(Member.objects.filter(pk=person.pk)).get()
    row, swap = locked_shift(shift)
    return row, swap, whom, queries.spans_of(whom, Span(row.starts, row.ends), without=row)


def wrote(code: str, shift: Shift, now: datetime, by: Member | None, **facts: Any) -> Entry:
    return record(code=code, happened_at=now, now=now, by=by, about=shift, facts=facts)


def tell_all(entry: Entry, code: str, people: Iterable[Member], now: datetime) -> None:
    """Each of them once of this entry; whoever has left is not told."""
    for person in people:
        if person.is_active:
            tell(entry=entry, person=person, code=code, unique_key=f"{code}:{entry.pk}:{person.pk}", due_at=now)


def give_to(shift: Shift, person: Member | None) -> None:
    """Who does not help beginners does not inherit that somebody did."""
    helps = person is not None and queries.hand(person).may_supervise
    shift.supervises = shift.supervises and helps
    shift.person = person
    shift.save(update_fields=["person", "supervises"])


def settle(swap: ShiftSwap | None, now: datetime, taken_by: Member | None = None) -> None:
    """Nobody has to take it over any more."""
    if swap is not None:
        swap.settled_at, swap.taken_by = now, taken_by
        swap.save(update_fields=["settled_at", "taken_by"])
