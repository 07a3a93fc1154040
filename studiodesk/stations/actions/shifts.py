"""Who has which shift: planning them, taking, giving back, assigning, calling off.

Whoever changes a shift locks the person it goes to first and the shift then, so that of two who take one the second is
told, and nobody gets two at one time.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

from studiodesk.acts import act, locked
from studiodesk.answers import refuse
from studiodesk.journal.actions import record
from studiodesk.people.models import Member
from studiodesk.timekeeping import Span

from .. import queries
from ..models import Shift, Studio
from ..rules import shifts as rules
from .shift_rows import give_to, locked_for, locked_shift, only_staff, require, settle, tell_all, wrote


@act
def plan_shifts(*, first: date, weeks: int, now: datetime, by: Member, longest: timedelta | None = None) -> list[Shift]:
    """The shifts of ``weeks`` weeks from ``first`` that the week's opening hours ask for and that are not there yet.

    Each opening span is one, or as many as are needed so that none is longer than ``longest``.
    """
    only_staff(by)
    studio = locked(Studio.objects.filter(pk=queries.studio().pk)).get()
    zone = queries.zone(studio)
    whole = rules.whole_time(first, weeks, zone)
    spans = rules.planned(
        first,
        weeks,
        queries.hours(),
        zone,
        standing=[Span(one.starts, one.ends) for one in queries.shifts(whole)],
        longest=longest,
        now=now,
    )
    made = Shift.objects.bulk_create(Shift(starts=span.starts, ends=span.ends, made_at=now) for span in spans)
    if made:
        facts = {"first": first.isoformat(), "weeks": weeks, "shifts": len(made)}
        record(code="stations.shifts_planned", happened_at=now, now=now, by=by, about=studio, facts=facts)
    return made


@act
def add_shift(*, span: Span, now: datetime, by: Member) -> Shift:
    """One shift of its own: a second pair of hands, an evening outside the week's opening hours."""
    only_staff(by)
    require(rules.may_add(span.starts, span.ends, now))
    row = Shift.objects.create(starts=span.starts, ends=span.ends, made_at=now)
    wrote("stations.shift_added", row, now, by)
    return row


@act
def take_shift(*, shift: Shift, now: datetime, by: Member) -> Shift:
    """Somebody takes a shift that nobody has.  Pressed twice it was taken once."""
    row, swap, whom, theirs = locked_for(shift, by)
    if row.person_id == whom.pk and row.called_off_at is None:
        return row
    require(rules.may_take(queries.duty(row, swap), queries.hand(whom), whom.name, theirs, now))
    give_to(row, whom)
    wrote("stations.shift_taken_by", row, now, by)
    return row


@act
def give_back(*, shift: Shift, now: datetime, by: Member) -> Shift:
    """It has nobody again, and everybody who may have shifts is told."""
    row, swap = locked_shift(shift)
    require(rules.may_give_back(queries.duty(row, swap), queries.hand(by), now))
    before = row.person
    if before is None:
        refuse("stations.shift_has_nobody")
    give_to(row, None)
    settle(swap, now)
    entry = wrote("stations.shift_given_back", row, now, by, person=before.pk)
    tell_all(entry, "stations.shift_given_back", queries.who_may_hold().exclude(pk__in=[by.pk, before.pk]), now)
    if before.pk != by.pk:
        tell_all(entry, "stations.shift_moved", [before], now)
    return row


@act
def assign(*, shift: Shift, person: Member, now: datetime, by: Member) -> Shift:
    """Staff give the shift to somebody, whoever has it; both are told."""
    only_staff(by)
    row, swap, whom, theirs = locked_for(shift, person)
    if row.person_id == whom.pk and row.called_off_at is None:
        return row
    require(rules.may_assign(queries.duty(row, swap), queries.hand(whom), whom.name, theirs, now))
    before = row.person
    give_to(row, whom)
    settle(swap, now, whom)
    entry = wrote("stations.shift_assigned", row, now, by, person=whom.pk, before=before.pk if before else None)
    tell_all(entry, "stations.shift_assigned", [whom] if whom.pk != by.pk else [], now)
    tell_all(entry, "stations.shift_moved", [before] if before and before.pk != by.pk else [], now)
    return row


@act
def set_supervises(*, shift: Shift, supervises: bool, now: datetime, by: Member) -> Shift:
    """Whoever has the shift helps people who are not signed off yet, or does not."""
    row, swap = locked_shift(shift)
    holder = row.person
    name = holder.name if holder else ""
    found = queries.hand(holder) if holder else None
    if supervises or row.supervises:
        require(rules.may_supervise(queries.duty(row, swap), found, queries.hand(by), name, now))
    if row.supervises != supervises:
        row.supervises = supervises
        row.save(update_fields=["supervises"])
        wrote("stations.shift_supervised" if supervises else "stations.shift_not_supervised", row, now, by)
    return row


@act
def call_off(*, shift: Shift, now: datetime, by: Member) -> Shift:
    """There is no such shift after all.  Where the house opens by shifts it is closed then; whoever had it is told."""
    only_staff(by)
    row, swap = locked_shift(shift)
    if row.called_off_at is not None:
        return row
    if queries.duty(row).is_over(now):
        refuse("stations.shift_is_over", ends=row.ended_at or row.ends)
    row.called_off_at = now
    row.save(update_fields=["called_off_at"])
    settle(swap, now)
    holder = row.person
    entry = wrote("stations.shift_called_off", row, now, by, person=holder.pk if holder else None)
    tell_all(entry, "stations.shift_called_off", [holder] if holder and holder.pk != by.pk else [], now)
    return row


@act
def put_back(*, shift: Shift, now: datetime, by: Member) -> Shift:
    """A shift that was called off stands again, with nobody on it."""
    only_staff(by)
    row, _swap = locked_shift(shift)
    if row.called_off_at is None:
        return row
    if queries.duty(row).is_over(now):
        refuse("stations.shift_is_over", ends=row.ended_at or row.ends)
    row.called_off_at, row.person, row.supervises = None, None, False
    row.save(update_fields=["called_off_at", "person", "supervises"])
    wrote("stations.shift_put_back", row, now, by)
    return row
