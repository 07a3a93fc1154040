"""Who has which membership from when until when, and what is written down of a person besides."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any, Final

from django.db import IntegrityError, transaction
from django.utils import timezone

from studiodesk.acts import act, locked
from studiodesk.answers import Refused, refuse
from studiodesk.journal import actions as journal
from studiodesk.journal.models import Notice
from studiodesk.parts import AT_A_TIME

from .. import queries, rules
from ..models import Member, Membership, MembershipPlan

#: How long before its last day somebody is told that their membership ends.
TELL_BEFORE = timedelta(days=14)


class _Unchanged:
    """Stands for a fact that nobody named."""


UNCHANGED: Final = _Unchanged()


def _for_staff(by: Member | None) -> None:
    if by is not None and not (by.is_active and by.is_staff):
        refuse("people.not_yours_to_do", status=403)


def _for_managers(by: Member | None) -> None:
    if by is not None and not (by.is_active and by.is_manager):
        refuse("people.plans_are_the_managers", status=403)


@act
def make_plan(*, code: str, name: str, is_day_pass: bool = False, now: datetime, by: Member | None) -> MembershipPlan:
    """A new kind of membership.  Refused: ``people.plan_code_taken``, ``people.plan_name_taken``."""
    _for_managers(by)
    code, name = code.strip(), name.strip()
    if MembershipPlan.objects.filter(code__iexact=code).exists():
        refuse("people.plan_code_taken", of=code)
    if MembershipPlan.objects.filter(name__iexact=name).exists():
        refuse("people.plan_name_taken", name=name)
    try:
        with transaction.atomic():
            plan = MembershipPlan.objects.create(code=code, name=name, is_day_pass=is_day_pass)
    except IntegrityError:  # another manager was quicker by a moment
        refuse("people.plan_code_taken", of=code)
    journal.record(code="people.plan_made", happened_at=now, now=now, by=by, about=plan)
    return plan


@act
def describe_plan(
    *, code: str, name: str, is_day_pass: bool = False, now: datetime, by: Member | None = None
) -> tuple[MembershipPlan, bool]:
    """Make the plan, or change it so that it is as described; gives it and whether anything was written.

    Whether it is a day pass stays as it is once somebody had it: ``people.plan_is_sold``.
    """
    _for_managers(by)
    plan = locked(MembershipPlan.objects.filter(code=code)).first()
    if plan is None:
        return make_plan(code=code, name=name, is_day_pass=is_day_pass, now=now, by=by), True
    if (plan.name, plan.is_day_pass) == (name, is_day_pass):
        return plan, False
    if plan.is_day_pass != is_day_pass and Membership.objects.filter(plan=plan).exists():
        refuse("people.plan_is_sold", name=plan.name)
    plan.name, plan.is_day_pass = name, is_day_pass
    plan.save(update_fields=["name", "is_day_pass"])
    journal.record(code="people.plan_changed", happened_at=now, now=now, by=by, about=plan)
    return plan, True


@act
def set_plan_in_use(*, plan: MembershipPlan, in_use: bool, now: datetime, by: Member) -> MembershipPlan:
    """A plan out of use is given to nobody any more; whoever has it keeps it."""
    _for_managers(by)
    plan = locked(MembershipPlan.objects.filter(pk=plan.pk)).get()
    if plan.in_use != in_use:
        plan.in_use = in_use
        plan.save(update_fields=["in_use"])
        code = "people.plan_back_in_use" if in_use else "people.plan_out_of_use"
        journal.record(code=code, happened_at=now, now=now, by=by, about=plan)
    return plan


@act
def give_membership(
    *, member: Member, plan: MembershipPlan, first_day: date, last_day: date | None, now: datetime, by: Member | None
) -> Membership:
    """From ``first_day`` to ``last_day``, both included; None goes on without an end.  A day pass is one day, and
    needs no last day.

    One person has one membership at a time.  ``by`` None is the house itself.  Refused:
    ``people.membership_overlaps``, ``people.membership_goes_on`` and what ``rules.may_have_membership`` says.
    """
    _for_staff(by)
    member = locked(Member.objects.filter(pk=member.pk)).get()
    if not member.is_active:
        refuse("people.has_left", name=member.name)
    plan = MembershipPlan.objects.get(pk=plan.pk)
    if plan.is_day_pass and last_day is None:
        last_day = first_day
    refusal = rules.may_have_membership(first_day, last_day, is_day_pass=plan.is_day_pass, in_use=plan.in_use)
    if refusal is not None:
        raise Refused(refusal)
    others = list(queries.memberships_of(member).order_by("first_day"))
    number = rules.overlap(first_day, last_day, [(one.first_day, one.last_day) for one in others])
    if number is not None:
        other = others[number]
        facts = {"name": member.name, "plan": other.plan.name, "first": other.first_day, "last": other.last_day}
        refuse("people.membership_overlaps" if other.last_day else "people.membership_goes_on", **facts)
    made = Membership.objects.create(
        member=member, plan=plan, first_day=first_day, last_day=last_day, made_at=now, made_by=by
    )
    _record("people.membership_given", made, now, by)
    return made


def _record(code: str, membership: Membership, now: datetime, by: Member | None) -> None:
    """About the person: that is where it is looked for.  ``membership`` and ``plan`` are ids."""
    facts = {
        "membership": membership.pk,
        "plan": membership.plan_id,
        "first_day": membership.first_day.isoformat(),
        "last_day": membership.last_day.isoformat() if membership.last_day else None,
    }
    journal.record(code=code, happened_at=now, now=now, by=by, about=membership.member, facts=facts)


@act
def end_membership(*, membership: Membership, on: date, now: datetime, by: Member) -> Membership:
    """``on`` is its last day.  It only becomes shorter: ``people.membership_is_over`` otherwise."""
    _for_staff(by)
    locked(Member.objects.filter(pk=membership.member_id)).get()
    membership = Membership.objects.select_related("plan", "member").get(pk=membership.pk)
    if on < membership.first_day:
        refuse("people.membership_ends_first", first=membership.first_day, last=on)
    if membership.last_day == on:
        return membership
    if membership.last_day is not None and membership.last_day < on:
        refuse("people.membership_is_over", last=membership.last_day)
    membership.last_day = on
    membership.save(update_fields=["last_day"])
    _record("people.membership_ended", membership, now, by)
    return membership


@act
def take_back_membership(*, membership: Membership, now: datetime, by: Member) -> None:
    """It was given by mistake: it is gone.  Only on the day on which it was given, or before its first day."""
    _for_staff(by)
    locked(Member.objects.filter(pk=membership.member_id)).get()
    found = Membership.objects.select_related("member").filter(pk=membership.pk).first()
    if found is None:  # a second press
        return
    today, made_on = timezone.localtime(now).date(), timezone.localtime(found.made_at).date()
    if not rules.may_be_taken_back(found.first_day, made_on, today):
        refuse("people.membership_has_run", first=found.first_day)
    _record("people.membership_taken_back", found, now, by)
    found.delete()


@act
def record_past_memberships(*, rows: Iterable[tuple[int, int, date, date | None]], now: datetime) -> int:
    """Memberships that a file tells of, as (member, plan, first day, last day) with ids; gives how many.

    Whoever calls has looked that none of them overlaps.
    """
    made = [
        Membership(member_id=member, plan_id=plan, first_day=first, last_day=last, made_at=now)
        for member, plan, first, last in rows
    ]
    Membership.objects.bulk_create(made, batch_size=AT_A_TIME)
    return len(made)


FACTS = ("born_on", "phone", "emergency_name", "emergency_phone")


@act
def set_person_facts(
    *,
    person: Member,
    born_on: date | _Unchanged | None = UNCHANGED,
    phone: str | _Unchanged = UNCHANGED,
    emergency_name: str | _Unchanged = UNCHANGED,
    emergency_phone: str | _Unchanged = UNCHANGED,
    now: datetime,
    by: Member | None,
) -> Member:
    """What the house has to know of somebody besides; what is not named stays as it is.

    By the person themselves or by staff; a birthday that stands is changed by staff only, for the house's age rule
    looks at it.  The journal keeps which facts changed and not what they are.
    """
    by_staff = by is None or (by.is_active and by.is_staff)
    if by is not None and not by_staff and by.pk != person.pk:
        refuse("people.not_about_others", status=403)
    person = locked(Member.objects.filter(pk=person.pk)).get()
    given = {"born_on": born_on, "phone": phone, "emergency_name": emergency_name, "emergency_phone": emergency_phone}
    wanted: dict[str, Any] = {
        name: getattr(person, name) if value is UNCHANGED else value.strip() if isinstance(value, str) else value
        for name, value in given.items()
    }
    changed = [name for name in FACTS if getattr(person, name) != wanted[name]]
    if not changed:
        return person
    if "born_on" in changed and person.born_on is not None and not by_staff:
        refuse("people.birthday_stands", field="born_on")
    refusal = rules.may_keep_facts(**wanted, today=timezone.localtime(now).date())
    if refusal is not None:
        raise Refused(refusal)
    for name in changed:
        setattr(person, name, wanted[name])
    person.save(update_fields=changed)
    journal.record(code="people.facts_set", happened_at=now, now=now, by=by, about=person, facts={"changed": changed})
    return person


@act
def remind_of_endings(*, now: datetime, today: date, due_at: datetime | None = None) -> int:
    """Tell everybody whose membership ends within 14 days and is followed by none; gives how many were told now.

    Each membership is told of once for each last day it is given.  One that was given for so short a time from the
    beginning needs no letter.
    """
    ending = [
        one for one in queries.running_out(today, today + TELL_BEFORE) if one.last_day - one.first_day >= TELL_BEFORE
    ]
    keys = {f"people.membership_ends:{one.pk}:{one.last_day}": one for one in ending}
    told = set(Notice.objects.filter(unique_key__in=list(keys)).values_list("unique_key", flat=True))
    for key in keys.keys() - told:
        one = keys[key]
        facts = {"last_day": one.last_day.isoformat()}
        entry = journal.record(code="people.membership_ends", happened_at=now, now=now, about=one, facts=facts)
        at = max(now, due_at or now)
        journal.tell(entry=entry, person=one.member, code="people.membership_ends", unique_key=key, due_at=at)
    return len(keys.keys() - told)
