"""Telling of shifts that nobody has."""

from __future__ import annotations

from datetime import datetime

from studiodesk.acts import act, locked
from studiodesk.journal.actions import tell
from studiodesk.journal.models import Entry

from .. import queries
from ..models import Shift
from ..rules import shifts as rules
from .shift_rows import wrote


@act
def flag_uncovered(*, now: datetime) -> int:
    """Tell keyholders and staff of shifts that nobody has, 7 days and 48 hours ahead, each once; gives how many."""
    steps = ((rules.OPEN_7D, "stations.shift_open_7d"), (rules.OPEN_48H, "stations.shift_open_48h"))
    waiting = queries.uncovered(now)
    told = set(
        Entry.objects.filter(
            code__in=[code for _ahead, code in steps], about="shift", about_id__in=[one.pk for one in waiting]
        ).values_list("code", "about_id")
    )
    due = [
        (one.pk, code)
        for one in waiting
        for ahead, code in steps
        if rules.is_due(one.starts, ahead, now) and (code, one.pk) not in told
    ]
    if not due:
        return 0
    rows = {row.pk: row for row in locked(Shift.objects.filter(pk__in=[pk for pk, _code in due]).order_by("pk"))}
    people, count = list(queries.who_opens()), 0
    for pk, code in due:
        row = rows[pk]
        if row.person_id is not None or row.called_off_at is not None:
            continue  # somebody was quicker than this sweep
        if Entry.objects.filter(code=code, about="shift", about_id=pk).exists():
            continue
        entry = wrote(code, row, now, None)
        for person in people:
            tell(entry=entry, person=person, code=code, unique_key=f"{code}:{pk}:{person.pk}", due_at=now)
        count += 1
    return count
