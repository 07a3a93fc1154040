"""The rules of the house as they stand: every number that was set, and which holds for whom on which day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from studiodesk.people.models import MembershipPlan

from ..models import HouseRule
from ..rules import setting
from ..rules.house import BY_CODE, KINDS, HouseRules, Kind, Row, in_force


def rule_rows() -> list[Row]:
    """Every number that was set, in the order in which they come into force and were set; one query."""
    rows = HouseRule.objects.order_by("in_force_from", "pk")
    return [Row(*row) for row in rows.values_list("code", "plan", "value", "in_force_from")]


def rules_on(day: date, plan: int | MembershipPlan | None = None) -> HouseRules:
    """The numbers that hold on ``day`` for people with this plan (its id will do), or with none."""
    return in_force(rule_rows(), day, plan.pk if isinstance(plan, MembershipPlan) else plan)


def history(code: str) -> QuerySet[HouseRule]:
    """What was set of one rule, the latest to come into force first, with who set it."""
    return HouseRule.objects.filter(code=code).select_related("plan", "set_by").order_by("-in_force_from", "-pk")


@dataclass(frozen=True)
class RuleLine:
    """One rule: what holds for everybody, and plan by plan in the order of the plans given."""

    kind: Kind
    everybody: setting.Standing
    plans: tuple[setting.Standing, ...]


def rule_lines(day: date, plans: list[MembershipPlan]) -> list[RuleLine]:
    rows = rule_rows()
    return [
        RuleLine(
            kind,
            setting.standing(rows, kind, None, day),
            tuple(setting.standing(rows, kind, plan.pk, day) for plan in plans),
        )
        for kind in KINDS
    ]


def kind_of(code: str) -> Kind | None:
    return BY_CODE.get(code)
