"""Making dates from an outline, moving them, deciding whether they go, calling them off."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from studiodesk.acts import act, locked
from studiodesk.answers import refuse
from studiodesk.bookings.actions.groups import cancel_groups, move_groups
from studiodesk.bookings.models import GroupStay
from studiodesk.bookings.queries.groups_in import groups_touching
from studiodesk.journal.actions import record, tell
from studiodesk.people.models import Member
from studiodesk.safety import queries as safety
from studiodesk.timekeeping import Span

from ..models import Course, Outline, Place
from ..queries import meetings_of, parties_of, terms_of, wishes_for, wishes_of
from ..rules import places as rules
from .making import Room, clear_the_way, make_course
from .telling import tell_everybody

Decided = Course.Decided


def may_plan(by: Member | None, tutor: int | None) -> None:
    """Staff plan classes, and tutors those that they teach; None is the house itself (a file, the demo)."""
    if by is None or (by.is_active and by.is_staff):
        return
    if not (by.is_active and by.is_tutor and by.pk == tutor):
        refuse("classes.staff_plan", status=403)


def fresh(course: Course) -> Course:
    """The row as it is now, locked: whoever has it decides over its places."""
    row: Course = locked(Course.objects.filter(pk=course.pk)).get()
    return row


def _check_tutor(
    tutor: Member, outline: Outline | None, spans: Sequence[Span], now: datetime, course: Course | None = None
) -> None:
    if not (tutor.is_active and (tutor.is_tutor or tutor.is_staff)):
        refuse("classes.not_a_tutor", name=tutor.name)
    at = max(span.ends for span in spans)
    for need in outline.tutor_needs.select_related("process") if outline is not None else ():
        missing = safety.not_signed_off(tutor, need.kind, need.process, at)
        if missing:
            refuse("classes.tutor_not_signed_off", name=tutor.name, what=missing)
    for span in spans:
        others = groups_touching(span).filter(led_by=tutor)
        if course is not None:
            others = others.exclude(meeting__course=course)
        other = others.first()
        if other is not None:
            refuse("classes.tutor_elsewhere", name=tutor.name, title=other.title, starts=other.starts)


@act
def announce(
    *,
    outline: Outline,
    spans: Sequence[Span],
    tutor: Member | None,
    now: datetime,
    by: Member | None,
    heads_most: int | None = None,
    heads_least: int | None = None,
    is_private: bool = False,
    title: str = "",
    room: Room = (),
) -> Course:
    """One run of ``outline`` at ``spans``: everything that it needs is kept, or nothing and it is not made.

    ``room``: members' bookings in its way, each with the move that was chosen for it: they move in the same act.

    Refused: ``classes.staff_plan``, ``classes.outline_retired``, what a tutor may lack,
    ``classes.no_room_in_outline``, and what ``keep_group`` is.
    """
    may_plan(by, tutor.pk if tutor is not None else None)
    if Outline.objects.filter(pk=outline.pk, retired_at__isnull=False).exists():
        refuse("classes.outline_retired")
    most = outline.heads_most if heads_most is None else heads_most
    least = min(outline.heads_least, most) if heads_least is None else heads_least
    if not 1 <= least <= most:
        refuse("classes.no_room_in_outline", least=least, most=most)
    if len(spans) != outline.meetings:
        refuse("classes.wrong_number_of_dates", dates=outline.meetings)
    if tutor is not None:
        _check_tutor(tutor, outline, spans, now)
    course = make_course(
        outline=outline,
        wishes=wishes_for(outline, sorted(spans), most),
        title=title.strip() or outline.name,
        process=outline.process,
        tutor=tutor,
        is_private=is_private,
        room=room,
        now=now,
        by=by,
        heads_least=least,
        heads_most=most,
        decide_at=_decide_at(outline, min(spans).starts, now),
        drop_in=outline.sort == GroupStay.Sort.OPEN,
    )
    record(code="classes.announced", happened_at=now, now=now, by=by, about=course, facts={"dates": len(spans)})
    _tell_tutor(course, "classes.you_teach", now, by)
    return course


def _decide_at(outline: Outline, starts: datetime, now: datetime) -> datetime | None:
    """So many days before the first date; a date announced later than that is decided by staff alone.

    Where nobody signs up there is nothing to count.
    """
    if outline.decide_days is None or outline.sort in {GroupStay.Sort.OPEN, GroupStay.Sort.ROOM}:
        return None
    at = starts - timedelta(days=outline.decide_days)
    return at if at > now else None


def _tell_tutor(course: Course, code: str, now: datetime, by: Member | None) -> None:
    if course.tutor is None or (by is not None and by.pk == course.tutor_id):
        return
    entry = record(code=code, happened_at=now, now=now, by=by, about=course, facts={"tutor": course.tutor_id})
    key = f"{code}:{course.pk}:{course.sequence}:{course.tutor_id}"
    tell(entry=entry, person=course.tutor, code=code, unique_key=key, due_at=now)


@act
def move_course(*, course: Course, spans: Sequence[Span], now: datetime, by: Member, room: Room = ()) -> Course:
    """All dates that have not begun to ``spans`` (one for each, in order), or none; everybody is told.

    ``room``: as of ``announce``.

    Refused as ``announce`` is, and ``classes.called_off``, ``classes.nothing_to_move``.
    """
    may_plan(by, course.tutor_id)
    row = fresh(course)
    if row.is_off:
        refuse("classes.called_off")
    coming = [meeting for meeting in meetings_of(row) if meeting.stay.starts > now]
    if not coming:
        refuse("classes.nothing_to_move")
    if len(coming) != len(spans):
        refuse("classes.wrong_number_of_dates", dates=len(coming))
    if row.tutor is not None:
        _check_tutor(row.tutor, row.outline, spans, now, row)
    before = [meeting.stay.starts.isoformat() for meeting in coming]
    wishes = wishes_of(row, sorted(spans))
    if wishes:
        clear_the_way(room, "" if row.is_private else row.title, now, by)
        move_groups(stays=[meeting.stay for meeting in coming], wishes=wishes, now=now, by=by)
    row.sequence, row.changed_at, row.moved_at = row.sequence + 1, now, now
    row.save(update_fields=["sequence", "changed_at", "moved_at"])
    facts = {"before": before, "after": [span.starts.isoformat() for span in sorted(spans)]}
    entry = record(code="classes.moved", happened_at=now, now=now, by=by, about=row, facts=facts)
    tell_everybody(row, entry, "classes.moved", now, by)
    return row


@act
def set_tutor(*, course: Course, tutor: Member, now: datetime, by: Member) -> Course:
    """Somebody else teaches it; they need what the outline asks of whoever teaches.  Both are told."""
    may_plan(by, course.tutor_id)
    row = fresh(course)
    if row.is_off:
        refuse("classes.called_off")
    if row.tutor_id == tutor.pk:
        return row
    coming = [meeting.stay for meeting in meetings_of(row) if meeting.stay.ends > now]
    if not coming:
        refuse("classes.nothing_to_move")
    _check_tutor(tutor, row.outline, [Span(stay.starts, stay.ends) for stay in coming], now, row)
    _tell_tutor(row, "classes.you_teach_no_more", now, by)
    row.tutor = tutor
    row.sequence, row.changed_at = row.sequence + 1, now
    row.save(update_fields=["tutor", "sequence", "changed_at"])
    GroupStay.objects.filter(pk__in=[stay.pk for stay in coming]).update(led_by=tutor, changed_at=now)
    _tell_tutor(row, "classes.you_teach", now, by)
    return row


@act
def call_off_course(*, course: Course, because: str, now: datetime, by: Member | None) -> Course:
    """It does not take place: what it keeps is free again and everybody is told why.  Twice is once."""
    may_plan(by, course.tutor_id)
    return _call_off(fresh(course), because, now, by)


def _call_off(row: Course, because: str, now: datetime, by: Member | None) -> Course:
    if row.is_off:
        return row
    if not because.strip():
        refuse("classes.say_why")
    cancel_groups(stays=[meeting.stay for meeting in meetings_of(row)], now=now, by=by)
    row.decided, row.decided_at, row.called_off_because = Decided.OFF, now, because.strip()[:200]
    row.sequence, row.changed_at = row.sequence + 1, now
    row.save(update_fields=["decided", "decided_at", "called_off_because", "sequence", "changed_at"])
    entry = record(code="classes.called_off", happened_at=now, now=now, by=by, about=row)
    tell_everybody(row, entry, "classes.called_off", now, by)
    still = row.places.exclude(state=Place.State.ENDED)
    for place in still:
        place.seats.all().delete()
    still.update(state=Place.State.ENDED, ended_at=now, ended_because="called off", until=None)
    _tell_tutor(row, "classes.you_teach_no_more", now, by)
    return row


@act
def decide(*, course: Course, goes: bool, now: datetime, by: Member | None, because: str = "") -> Course:
    """It goes, whoever has signed up by now, or it is called off; everybody is told.  Twice is once."""
    may_plan(by, course.tutor_id)
    row = fresh(course)
    if not goes:
        return _call_off(row, because, now, by)
    if row.is_off:
        refuse("classes.called_off")
    if row.decided != Decided.GO:
        row.decided, row.decided_at = Decided.GO, now
        row.save(update_fields=["decided", "decided_at"])
        entry = record(code="classes.goes", happened_at=now, now=now, by=by, about=row)
        tell_everybody(row, entry, "classes.goes", now, by)
    return row


def decide_due(*, now: datetime) -> int:
    """What has come to its day of decision: it goes with enough who booked, else it is called off.  Answers how many.

    Each in an act of its own: one that fails keeps none of the others waiting.
    """
    due = Course.objects.filter(decided="", decide_at__lte=now).order_by("decide_at", "pk")
    done = 0
    for course in due:
        if terms_of(course).starts > now:
            _decide_one(course, now)
            done += 1
    return done


@act
def _decide_one(course: Course, now: datetime) -> None:
    row = fresh(course)
    if row.decided:
        return
    goes = rules.decision(row.heads_least, parties_of(row))
    decide(course=row, goes=goes, now=now, by=None, because="" if goes else Course.TOO_FEW)


@act
def make_invitation(*, course: Course, now: datetime, by: Member) -> Course:
    """A new link to a private course; the ones before open nothing any more."""
    may_plan(by, course.tutor_id)
    row = fresh(course)
    row.invitation += 1
    row.save(update_fields=["invitation"])
    record(code="classes.invitation_made", happened_at=now, now=now, by=by, about=row)
    return row
