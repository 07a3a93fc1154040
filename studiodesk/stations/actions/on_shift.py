"""During a shift: when it really began and ended, and the note for whoever comes next."""

from __future__ import annotations

from datetime import datetime

from studiodesk.acts import act
from studiodesk.answers import refuse
from studiodesk.people.models import Member

from .. import queries
from ..models import Shift
from ..rules import shifts as rules
from .shift_rows import locked_shift, require, settle, wrote


@act
def begin_shift(*, shift: Shift, now: datetime, by: Member) -> Shift:
    """The house is looked after from now on.  Pressed twice, the first time counts."""
    row, swap = locked_shift(shift)
    if row.began_at is not None and row.person_id == by.pk:
        return row
    require(rules.may_begin(queries.duty(row, swap), queries.hand(by), now))
    if row.began_at is None:
        row.began_at = now
        row.save(update_fields=["began_at"])
        settle(swap, now)
        wrote("stations.shift_begun", row, now, by)
    return row


@act
def end_shift(*, shift: Shift, now: datetime, by: Member) -> Shift:
    """Pressed twice, the first time counts."""
    row, swap = locked_shift(shift)
    require(rules.may_end(queries.duty(row, swap), queries.hand(by)))
    if row.ended_at is None:
        row.ended_at = now
        row.save(update_fields=["ended_at"])
        settle(swap, now)
        wrote("stations.shift_ended", row, now, by)
    return row


@act
def hand_over(*, shift: Shift, note: str, now: datetime, by: Member) -> Shift:
    """What whoever comes next should know; a later note takes the place of the earlier."""
    row, swap = locked_shift(shift)
    require(rules.may_hand_over(queries.duty(row, swap), queries.hand(by), now))
    note = note.strip()
    if not note:
        refuse("stations.note_is_empty", status=422)
    if row.hand_over != note:
        row.hand_over, row.handed_over_at = note, now
        row.save(update_fields=["hand_over", "handed_over_at"])
        wrote("stations.handed_over", row, now, by, signs=len(note))
    return row
