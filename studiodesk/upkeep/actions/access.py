"""Memberships, house rules and sign-offs as a studio's file describes them."""

from __future__ import annotations

from datetime import datetime

from studiodesk.answers import Refused
from studiodesk.bookings.actions import set_house_rule
from studiodesk.people.actions import describe_plan
from studiodesk.people.models import MembershipPlan
from studiodesk.safety.actions import set_sign_off_need
from studiodesk.safety.models import SignOffNeed
from studiodesk.stations.models import Process

from ..rules.plan import Plan
from ..rules.problems import FileRefused, Findings
from .outcome import LoadOutcome


def load_people(plan: Plan, now: datetime, outcome: LoadOutcome, findings: Findings) -> None:
    """What a manager decided on the pages since is in force later, and stays."""
    here = set(MembershipPlan.objects.values_list("code", flat=True))
    for number, one in enumerate(plan.membership_plans, 1):
        try:
            _row, written = describe_plan(code=one.code, name=one.name, is_day_pass=one.is_day_pass, now=now)
        except Refused as refused:
            column = "day_pass" if refused.refusal.code == "people.plan_is_sold" else "name"
            findings.wrong(refused.refusal, column=f"plans[{number}].{column}")
            raise FileRefused(findings.file, findings.problems) from refused
        outcome.count("plans", made=written and one.code not in here, changed=written)
    plans = {row.code: row for row in MembershipPlan.objects.all()}
    for rule in plan.house_rules:
        row = set_house_rule(
            code=rule.code,
            plan=plans[rule.plan] if rule.plan else None,
            value=rule.value,
            in_force_from=rule.in_force_from,
            now=now,
            by=None,
        )
        outcome.count("house rules", made=row is not None, changed=row is not None)
    processes = {process.code: process for process in Process.objects.all()}
    for need in plan.sign_offs:
        process = processes[need.process] if need.process else None
        there = SignOffNeed.objects.filter(kind=need.kind, process=process).exists()
        _need, written = set_sign_off_need(
            kind=need.kind, process=process, lasts_days=need.lasts_days, now=now, by=None
        )
        outcome.count("sign-offs", made=written and not there, changed=written)
