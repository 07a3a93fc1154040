"""Whether a class takes place: decided by staff or on its day, or called off."""

from __future__ import annotations

from datetime import datetime

from studiodesk.acts import act
from studiodesk.answers import refuse
from studiodesk.bookings.actions.groups import cancel_groups
from studiodesk.journal.actions import record
from studiodesk.people.models import Member

from ..models import Course, Place, PrivateNeed
from ..queries import due_for_decision, meetings_of, parties_of, terms_of
from ..rules import places as rules
from .courses import fresh, may_plan
from .one_by_one import one_by_one
from .places import leave_seats
from .telling import tell_everybody, tell_tutor

Decided = Course.Decided


@act
def call_off_course(*, course: Course, because: str, now: datetime, by: Member | None) -> Course:
    """It does not take place: what it keeps is free again and everybody is told why.  Twice is once.

    Dates that were held stay as they were, with who came.  Refused: ``classes.say_why``, ``classes.is_over``.
    """
    may_plan(by, course.tutor_id)
    return _call_off(fresh(course), because, now, by)


def _call_off(row: Course, because: str, now: datetime, by: Member | None) -> Course:
    if row.is_off:
        return row
    if not because.strip():
        refuse("classes.say_why")
    _is_not_over(row, now)
    cancel_groups(stays=[meeting.stay for meeting in meetings_of(row)], now=now, by=by)
    row.decided, row.decided_at, row.called_off_because = Decided.OFF, now, because.strip()[:200]
    row.sequence, row.changed_at = row.sequence + 1, now
    row.save(update_fields=["decided", "decided_at", "called_off_because", "sequence", "changed_at"])
    entry = record(code="classes.called_off", happened_at=now, now=now, by=by, about=row)
    tell_everybody(row, entry, "classes.called_off", now)
    still = row.places.exclude(state=Place.State.ENDED)
    for place in still:
        leave_seats(place)
    still.update(state=Place.State.ENDED, ended_at=now, ended_because="called off", until=None)
    PrivateNeed.objects.filter(place__course=row).delete()
    tell_tutor(row, entry, "classes.you_teach_no_more", now, by)
    return row


def _is_not_over(row: Course, now: datetime) -> None:
    if terms_of(row).ends <= now:
        refuse("classes.is_over")


@act
def decide(*, course: Course, goes: bool, now: datetime, by: Member | None, because: str = "") -> Course:
    """It goes, whoever has signed up by now, or it is called off; everybody whom it concerns is told.  Twice is once.

    Refused: ``classes.called_off``, ``classes.is_over``.
    """
    may_plan(by, course.tutor_id)
    row = fresh(course)
    if not goes:
        return _call_off(row, because, now, by)
    if row.is_off:
        refuse("classes.called_off")
    if row.decided != Decided.GO:
        _is_not_over(row, now)
        row.decided, row.decided_at = Decided.GO, now
        row.save(update_fields=["decided", "decided_at"])
        entry = record(code="classes.goes", happened_at=now, now=now, by=by, about=row)
        tell_everybody(row, entry, "classes.goes", now, [Place.State.BOOKED])
        tell_tutor(row, entry, "classes.goes", now, by)
    return row


def decide_due(*, now: datetime) -> int:
    """What has come to its day of decision: it goes with enough who booked, else it is called off.  Answers how many.

    Each in an act of its own: one that fails keeps none of the others waiting.
    """
    return sum(did for _course, did in one_by_one(due_for_decision(now), lambda course: _decide_one(course, now)))


@act
def _decide_one(course: Course, now: datetime) -> bool:
    row = fresh(course)
    if row.decided:
        return False
    goes = rules.decision(row.heads_least, parties_of(row))
    decide(course=row, goes=goes, now=now, by=None, because="" if goes else Course.TOO_FEW)
    return True
