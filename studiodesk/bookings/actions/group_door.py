"""The people of a group come and go: the roll-call and the house's limit count them, each with a name if there is one.

Nobody of a group is turned away here: its room in the house was kept when the group was.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from studiodesk.acts import act
from studiodesk.answers import refuse
from studiodesk.journal.actions import record
from studiodesk.people.models import Member

from ..models import GroupStay, Visit
from ..queries.door import visits_in
from .door import NAME_LENGTH, end_forgotten
from .letting_in import studio_of_the_door


def note_in(
    group: GroupStay, coming: Sequence[tuple[str, Member | None]], *, now: datetime, by: Member | None, kind: str = ""
) -> list[Visit | None]:
    """A line of the roll-call for each of ``coming`` (name, person), in their order; None for whoever is in already.

    Part of an act of whoever calls it.  ``kind``: "tutor" for whoever leads the group.
    """
    studio_of_the_door()
    people = {person.pk for _name, person in coming if person is not None}
    there = set(visits_in(now).filter(person__in=people).values_list("person", flat=True))
    for old in Visit.objects.filter(person__in=people - there, left_at__isnull=True, came_at__lt=now):
        end_forgotten(old, now)
    found: list[Visit | None] = []
    for name, person in coming:
        if person is not None and person.pk in there:
            found.append(None)
            continue
        if person is not None:
            there.add(person.pk)
        found.append(
            Visit.objects.create(
                kind=kind or Visit.Kind.GROUP,
                group=group,
                person=person,
                name="" if person is not None else " ".join(name.split())[:NAME_LENGTH],
                came_at=now,
                noted_by=by,
            )
        )
    return found


def note_out(visits: Iterable[int], *, now: datetime) -> None:
    """These leave now.  Part of an act of whoever calls it."""
    for row in Visit.objects.filter(pk__in=list(visits), left_at__isnull=True):
        row.left_at = max(now, row.came_at)
        row.save(update_fields=["left_at"])


def never_came(visits: Iterable[int]) -> None:
    """They were ticked by a slip: nothing of it stays.  Part of an act of whoever calls it."""
    Visit.objects.filter(pk__in=list(visits), group__isnull=False).delete()


def set_heads_in(group: GroupStay, heads: int, *, now: datetime, by: Member | None) -> None:
    """So many of a group without names are in now, as one line.  Part of an act of whoever calls it."""
    studio_of_the_door()
    row = Visit.objects.filter(group=group, person__isnull=True, left_at__isnull=True).order_by("pk").first()
    if row is None:
        if heads > 0:
            Visit.objects.create(
                kind=Visit.Kind.GROUP,
                group=group,
                name=group.title[:NAME_LENGTH],
                heads=heads,
                came_at=now,
                noted_by=by,
            )
    elif heads <= 0:
        note_out([row.pk], now=now)
    else:
        row.heads = heads
        row.save(update_fields=["heads"])


@act
def group_gone(*, group: GroupStay, now: datetime, by: Member) -> int:
    """Everybody of the group has left; answers how many lines of the roll-call ended.  Twice is once.

    Refused: ``bookings.not_your_group`` for whoever neither runs the house nor leads it.
    """
    if not (by.may_run_the_house or (by.is_active and by.pk == group.led_by_id)):
        refuse("bookings.not_your_group", status=403)
    studio_of_the_door()
    rows = list(Visit.objects.filter(group=group, left_at__isnull=True))
    note_out([row.pk for row in rows], now=now)
    if rows:
        facts = {"heads": sum(row.heads for row in rows)}
        record(code="bookings.group_left", happened_at=now, now=now, by=by, about=group, facts=facts)
    return len(rows)
