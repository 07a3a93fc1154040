"""What somebody mostly comes for, kept for the next time."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from studiodesk.acts import act, locked
from studiodesk.answers import refuse
from studiodesk.journal.actions import record
from studiodesk.people.models import Member

from ..models import UsualNeed
from ..rules.needs import Need, need_to_json


@act
def keep_usual(*, need: Need, now: datetime, by: Member) -> UsualNeed:
    """``need`` is what ``by`` mostly comes for, on whatever days: its dates are left out.

    Kept before, it changes nothing.  Refused: ``bookings.need_is_empty``.
    """
    if not need.process and not need.kind:
        refuse("bookings.need_is_empty", status=422)
    locked(Member.objects.filter(pk=by.pk)).get()
    kept = need_to_json(replace(need, first_day=None, last_day=None))
    row = UsualNeed.objects.filter(member=by).first()
    if row is not None and row.need == kept:
        return row
    if row is None:
        row = UsualNeed.objects.create(member=by, need=kept, kept_at=now)
    else:
        row.need, row.kept_at = kept, now
        row.save(update_fields=["need", "kept_at"])
    record(code="bookings.usual_kept", happened_at=now, now=now, by=by, about=row)
    return row


@act
def forget_usual(*, now: datetime, by: Member) -> None:
    """Nothing is kept any more.  If nothing was, nothing is written."""
    row = locked(UsualNeed.objects.filter(member=by)).first()
    if row is not None:
        record(code="bookings.usual_forgotten", happened_at=now, now=now, by=by, about=row)
        row.delete()
