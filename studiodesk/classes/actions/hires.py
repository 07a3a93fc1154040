"""Groups that hire: keeping the house or a part of it for them, changing that, the quote and the yes to it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import datetime, timedelta

from studiodesk.acts import act
from studiodesk.answers import Refused, refuse
from studiodesk.bookings.actions.groups import move_groups
from studiodesk.bookings.actions.making import new_reference
from studiodesk.bookings.models import GroupStay
from studiodesk.bookings.queries.groups import GroupWish
from studiodesk.journal.actions import call_off, record
from studiodesk.people.models import Member
from studiodesk.timekeeping import Span

from ..models import Course, Hire, Outline
from ..queries import meetings_of, wishes_of
from ..queries.courses import Need
from ..queries.hires import AskedHire, wishes_of_hire
from ..rules.hires import Group, group_refusal
from .courses import fresh
from .making import Room, make_course
from .outlines import write_outline
from .places import no, offer_seats
from .telling import tell_contact

MINUTE = timedelta(minutes=1)


def may_hire_out(by: Member | None) -> None:
    """Staff alone; None is the house itself (a file, the demo)."""
    if by is not None and not (by.is_active and by.is_staff):
        refuse("classes.staff_hire_out", status=403)


@act
def hire(*, asked: AskedHire, now: datetime, by: Member | None, room: Room = ()) -> Hire:
    """Everything that the group needs is kept for all of its dates (one or several), or nothing; the contact is told.

    ``room``: members' bookings in its way, each with the move that was chosen for it.

    Refused: ``classes.staff_hire_out``, what ``group_refusal`` says, ``classes.nothing_to_keep``,
    ``classes.no_such_kind``, and what ``keep_group`` is.
    """
    may_hire_out(by)
    group = asked.group
    no(group_refusal(group))
    if not asked.needs:
        refuse("classes.nothing_to_keep", status=422)
    course = make_course(
        outline=_outline_of(asked, now, by),
        wishes=wishes_of_hire(asked),
        title=asked.title.strip() or group.organisation,
        process=asked.process,
        is_private=True,
        room=room,
        now=now,
        by=by,
        heads_least=1,
        heads_most=group.heads,
    )
    row = Hire.objects.create(course=course, **_columns(group))
    facts = {"dates": len(asked.spans), "heads": group.heads, "supervisors": group.supervisors}
    entry = record(code="classes.hired", happened_at=now, now=now, by=by, about=row, facts=facts)
    tell_contact(row, entry, "classes.hired", now)
    return row


def _columns(group: Group) -> dict[str, object]:
    return {
        "organisation": group.organisation.strip()[:120],
        "contact_name": group.contact_name.strip()[:120],
        "contact_email": group.contact_email.strip(),
        "contact_phone": group.contact_phone.strip()[:40],
        "heads": group.heads,
        "supervisors": group.supervisors,
        "heads_a_supervisor": group.heads_a_supervisor,
    }


def _outline_of(asked: AskedHire, now: datetime, by: Member | None) -> Outline:
    """An outline of its own, given up from the beginning so that nobody is offered it."""
    first = min(asked.spans)
    row, _ = write_outline(
        code=f"hire-{new_reference().lower()}",
        says={
            "name": (asked.title.strip() or asked.group.organisation)[:120],
            "sort": asked.sort,
            "meetings": len(asked.spans),
            "length_minutes": (first.ends - first.starts) // MINUTE,
            "before_minutes": asked.before // MINUTE,
            "after_minutes": asked.after // MINUTE,
            "heads_least": 1,
            "heads_most": asked.group.heads,
            "heads_a_station": asked.heads_a_station,
            "free_cancel_days": 0,
        },
        needs=asked.needs,
        papers=asked.papers,
        now=now,
        by=by,
    )
    row.retired_at = now
    row.save(update_fields=["retired_at"])
    return row


@act
def change_hire(
    *, hire: Hire, group: Group, now: datetime, by: Member | None, needs: Sequence[Need] | None = None
) -> Hire:
    """Other people, another number of them, or (with ``needs``) other things: stations are given back or added at the
    same times, all of it or nothing.  Whoever answers for them is told.

    Refused as ``hire`` is, and ``classes.hire_off``, ``classes.hire_has_begun`` for what is kept.
    """
    course, row = _open(hire, by)
    no(group_refusal(group))
    if needs is not None and not needs:
        refuse("classes.nothing_to_keep", status=422)
    new = _columns(group)
    differing = [name for name, value in new.items() if getattr(row, name) != value]
    before = {"heads": row.heads, "supervisors": row.supervisors}
    address_before = row.contact_email
    for name in differing:
        setattr(row, name, new[name])
    if differing:
        row.save(update_fields=differing)
    is_kept_anew = _write_needs(course, row, needs, now, by) or bool({"heads", "supervisors"} & set(differing))
    if is_kept_anew:
        _keep_anew(course, row, now, by, must_fit=needs_more(before, row) or needs is not None)
    if not (differing or is_kept_anew):
        return row
    facts = {**before, "heads_now": row.heads, "supervisors_now": row.supervisors, "kept_anew": is_kept_anew}
    entry = record(code="classes.hire_changed", happened_at=now, now=now, by=by, about=row, facts=facts)
    if row.contact_email.casefold() != address_before.casefold():
        call_off(now=now, prefix=f"hire:{row.pk}:")  # what still waits would go to the wrong address
    if is_kept_anew or {"contact_email", "contact_name"} & set(differing):
        tell_contact(row, entry, "classes.hire_changed", now)
    return row


def needs_more(before: dict[str, int], row: Hire) -> bool:
    """Do more of them come than before, of either sort?"""
    return row.heads > before["heads"] or row.supervisors > before["supervisors"]


def _open(hire: Hire, by: Member | None) -> tuple[Course, Hire]:
    """The rows as they are now, the course's locked."""
    may_hire_out(by)
    course = fresh(hire.course)
    if course.is_off:
        refuse("classes.hire_off")
    row = Hire.objects.get(pk=hire.pk)
    row.course = course
    return course, row


def _write_needs(course: Course, row: Hire, needs: Sequence[Need] | None, now: datetime, by: Member | None) -> bool:
    """What its outline says is kept, and for how many; answers whether what is kept is another set."""
    outline = course.outline
    if outline is None:
        return False
    had = list(outline.needs.order_by("pk").values_list("kind", "process_id", "number"))
    wanted = [(kind, process.pk if process else None, number) for kind, process, number in needs or ()]
    is_other = needs is not None and Counter(had) != Counter(wanted)
    if is_other or outline.heads_most != row.heads:
        write_outline(
            code=outline.code,
            says={"heads_least": 1, "heads_most": row.heads},
            needs=needs if needs is not None and is_other else _needs_now(outline),
            papers=list(outline.papers.values_list("width_mm", "height_mm", "sheets_a_head")),
            now=now,
            by=by,
        )
    return is_other


def _needs_now(outline: Outline) -> list[Need]:
    rows = outline.needs.select_related("process").order_by("pk")
    return [(need.kind, need.process, need.number) for need in rows]


def _keep_anew(course: Course, row: Hire, now: datetime, by: Member | None, *, must_fit: bool) -> None:
    """The dates that have not begun, at the same times, for those who come now.

    Fewer people are never refused: where the smaller set is not to be had (a day that was closed since), they keep
    what they have.
    """
    coming = [meeting.stay for meeting in meetings_of(course) if meeting.stay.starts > now]
    if not coming:
        refuse("classes.hire_has_begun")
    grew = row.heads > course.heads_most
    course.heads_most, course.sequence, course.changed_at = row.heads, course.sequence + 1, now
    course.save(update_fields=["heads_most", "sequence", "changed_at"])
    wishes = wishes_of(course, [Span(stay.starts, stay.ends) for stay in coming])
    try:
        move_groups(stays=coming, wishes=wishes, now=now, by=by)
    except Refused as refused:
        if must_fit or refused.refusal.code != "bookings.no_room_for_group":
            raise
        _fewer_in_the_same(coming, wishes, now)
    if grew:
        offer_seats(course, now)


def _fewer_in_the_same(stays: Sequence[GroupStay], wishes: Sequence[GroupWish], now: datetime) -> None:
    for stay, wish in zip(stays, wishes, strict=True):
        GroupStay.objects.filter(pk=stay.pk).update(heads=wish.heads, changed_at=now)


@act
def quote(*, hire: Hire, amount_minor: int, terms: str, now: datetime, by: Member | None) -> Hire:
    """What it costs, in the smallest coin, and on what terms: mailed to the contact.  Another quote wants another yes.

    Refused: ``classes.staff_hire_out``, ``classes.hire_off``.
    """
    _course, row = _open(hire, by)
    if (row.quote_minor, row.quote_terms) != (amount_minor, terms.strip()):
        row.quote_minor, row.quote_terms, row.agreed_at = amount_minor, terms.strip(), None
        row.save(update_fields=["quote_minor", "quote_terms", "agreed_at"])
    call_off(now=now, prefix=f"hire:{row.pk}:classes.hire_quote:")  # one before that was not sent yet
    facts = {"amount_minor": amount_minor, "heads": row.heads}
    entry = record(code="classes.hire_quoted", happened_at=now, now=now, by=by, about=row, facts=facts)
    tell_contact(row, entry, "classes.hire_quote", now)
    return row


@act
def agree(*, hire: Hire, now: datetime, by: Member | None) -> Hire:
    """The contact said yes to the quote; they get it in writing.  Twice is once.

    Refused: ``classes.staff_hire_out``, ``classes.hire_off``, ``classes.no_quote``.
    """
    _course, row = _open(hire, by)
    if row.quote_minor is None:
        refuse("classes.no_quote")
    if row.agreed_at is None:
        row.agreed_at = now
        row.save(update_fields=["agreed_at"])
        facts = {"amount_minor": row.quote_minor}
        entry = record(code="classes.hire_agreed", happened_at=now, now=now, by=by, about=row, facts=facts)
        tell_contact(row, entry, "classes.hire_agreed", now)
    return row


@act
def forget_contact(*, hire: Hire, now: datetime, by: Member | None) -> Hire:
    """Whoever answered for a group is taken out of it, once it is over or was called off.  Twice is once.

    Refused: ``classes.staff_hire_out``, ``classes.hire_stands``.
    """
    may_hire_out(by)
    course = fresh(hire.course)
    if not course.is_off and any(meeting.stay.ends > now for meeting in meetings_of(course)):
        refuse("classes.hire_stands")
    row = Hire.objects.get(pk=hire.pk)
    gone = ("contact_name", "contact_email", "contact_phone")
    if any(getattr(row, name) for name in gone):
        for name in gone:
            setattr(row, name, "")
        row.save(update_fields=gone)
        call_off(now=now, prefix=f"hire:{row.pk}:")
        record(code="classes.hire_contact_forgotten", happened_at=now, now=now, by=by, about=row)
    return row
