"""Whether what a file of people says of memberships and birthdays agrees with what is here.  Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from studiodesk.answers import Refusal
from studiodesk.people import rules as people

from .problems import Findings, shown
from .rows import MemberRow


@dataclass(frozen=True)
class KnownPlan:
    pk: int
    is_day_pass: bool


@dataclass(frozen=True)
class KnownMembership:
    """``plan`` is its code."""

    plan: str
    first_day: date
    last_day: date | None


@dataclass(frozen=True)
class WantedMembership:
    """A membership that a line tells of and that is not here yet."""

    number: str
    plan: KnownPlan
    first_day: date
    last_day: date | None


def new_memberships(
    rows: Sequence[MemberRow],
    plans: Mapping[str, KnownPlan],
    known: Mapping[str, Sequence[KnownMembership]],
    findings: Findings,
) -> list[WantedMembership]:
    """``plans``: code → plan; ``known``: number → the memberships that are here."""
    wanted = []
    for row in rows:
        if row.plan is None:
            if row.member_from is not None or row.member_until is not None:
                column = "member_from" if row.member_from is not None else "member_until"
                findings.wrong(Refusal("upkeep.days_without_plan"), row.line, column)
            continue
        plan = plans.get(row.plan)
        if plan is None:
            findings.wrong(Refusal("upkeep.unknown_code", {"value": shown(row.plan)}), row.line, "plan")
            continue
        first = row.member_from or row.joined_on
        last = first if plan.is_day_pass and row.member_until is None else row.member_until
        refusal = people.may_have_membership(first, last, is_day_pass=plan.is_day_pass, in_use=True)
        if refusal is not None:
            findings.wrong(refusal, row.line, "member_until")
        elif _is_new(row, first, last, known.get(row.number, ()), findings):
            wanted.append(WantedMembership(row.number, plan, first, last))
    return wanted


def _is_new(
    row: MemberRow, first: date, last: date | None, here: Sequence[KnownMembership], findings: Findings
) -> bool:
    """False if this very membership is here, or if another one stands in its way (which is a problem)."""
    if KnownMembership(row.plan or "", first, last) in here:
        return False
    number = people.overlap(first, last, [(one.first_day, one.last_day) for one in here])
    if number is None:
        return True
    other = here[number]
    facts = {
        "what": row.number,
        "here": _said(other.plan, other.first_day, other.last_day),
        "file": _said(row.plan or "", first, last),
    }
    findings.wrong(Refusal("upkeep.differs", facts), row.line, "plan")
    return False


def _said(plan: str, first: date, last: date | None) -> str:
    return f"{shown(plan)} {first.isoformat()} – {last.isoformat() if last else ''}".strip()


def new_birthdays(
    rows: Sequence[MemberRow], known: Mapping[str, date | None], today: date, findings: Findings
) -> dict[str, date]:
    """Number → birthday of those who have none here yet; one that differs is a problem.  ``known``: who is here."""
    found = {}
    for row in rows:
        if row.born_on is None:
            continue
        there = known.get(row.number)
        if there is not None and there != row.born_on:
            facts = {"what": row.number, "file": row.born_on.isoformat(), "here": there.isoformat()}
            findings.wrong(Refusal("upkeep.differs", facts), row.line, "born_on")
        refusal = people.may_keep_facts(
            born_on=row.born_on, phone="", emergency_name="", emergency_phone="", today=today
        )
        if refusal is not None:
            findings.wrong(refusal, row.line, "born_on")
        elif there is None:
            found[row.number] = row.born_on
    return found
