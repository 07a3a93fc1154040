"""``[[plans]]``, ``[[house_rules]]`` and ``[[sign_offs]]`` of a studio's file: who may do what.  Pure."""

from __future__ import annotations

from collections.abc import Collection
from functools import partial

from studiodesk.answers import Refusal, refuse
from studiodesk.bookings.rules import setting
from studiodesk.bookings.rules.house import BY_CODE
from studiodesk.safety.rules import MOST_DAYS

from . import cells
from .keys import Keys, twice
from .plan import HouseRulePlan, MembershipPlanPlan, SignOffPlan
from .problems import Findings, shown


def read_plans(root: Keys, findings: Findings) -> tuple[MembershipPlanPlan, ...]:
    plans = tuple(
        MembershipPlanPlan(
            code=keys.needed("code", cells.code, ""),
            name=keys.needed("name", cells.text, ""),
            is_day_pass=keys.optional("day_pass", cells.yes_or_no, False),
        )
        for keys in root.tables("plans")
    )
    twice("plans", [plan.code for plan in plans], findings)
    return plans


def _rule(value: object) -> str:
    code = cells.text(value, 40)
    if code not in BY_CODE:
        refuse("upkeep.not_one_of", value=shown(code), words=[f"“{known}”" for known in BY_CODE])
    return code


def _number(value: object) -> int | None:
    """A whole number, or "none" for no limit."""
    if isinstance(value, str) and value.strip().casefold() == "none":
        return None
    return cells.whole(value, -1_000_000, 1_000_000)


def one_of_known(known: Collection[str], what: object) -> str:
    """A code or a kind that the file or the database has."""
    code = cells.text(what)
    if code not in known:
        refuse("upkeep.unknown_code", value=shown(code))
    return code


def _one_number(value: object) -> tuple[int | None]:
    return (_number(value),)


def read_house_rules(root: Keys, plans: Collection[str]) -> tuple[HouseRulePlan, ...]:
    """``plans``: the codes that the file or the database has."""
    return tuple(rule for keys in root.tables("house_rules") if (rule := _house_rule(keys, plans)) is not None)


def _house_rule(keys: Keys, plans: Collection[str]) -> HouseRulePlan | None:
    nobody: str | None = None
    none_read: tuple[int | None] = (0,)
    wrong_before = len(keys.findings.problems)
    rule = HouseRulePlan(
        code=keys.needed("rule", _rule, ""),
        # "none" is a value too, so it is read as a tuple of one.
        value=keys.needed("value", _one_number, none_read)[0],
        plan=keys.optional("plan", partial(one_of_known, plans), nobody),
        in_force_from=keys.optional("from", cells.day, setting.BEGINNING),
    )
    if len(keys.findings.problems) > wrong_before:
        return None
    plan = None if rule.plan is None else 0
    refusal = setting.may_set(rule.code, plan, rule.value, rule.in_force_from, today=None, by_manager=True)
    if refusal is not None:
        keys.wrong("plan" if refusal.code == "bookings.rule_for_everybody" else "value", refusal)
        return None
    return rule


def read_sign_offs(root: Keys, kinds: Collection[str], processes: Collection[str]) -> tuple[SignOffPlan, ...]:
    """``kinds`` of stations and codes of ``processes`` that the file or the database has."""
    found = tuple(_sign_off(keys, kinds, processes) for keys in root.tables("sign_offs"))
    first: dict[tuple[str, str], int] = {}
    for number, one in enumerate(found, 1):
        key = (one.kind, one.process)
        if any(key) and first.setdefault(key, number) != number:
            facts = {"what": one.kind or one.process, "other": f"sign_offs[{first[key]}]"}
            root.wrong(f"sign_offs[{number}]", Refusal("upkeep.code_twice", facts))
    return found


def _sign_off(keys: Keys, kinds: Collection[str], processes: Collection[str]) -> SignOffPlan:
    good = len(keys.findings.problems)
    for_good: int | None = None
    found = SignOffPlan(
        kind=keys.optional("kind", partial(one_of_known, kinds), ""),
        process=keys.optional("process", partial(one_of_known, processes), ""),
        lasts_days=keys.optional("lasts_days", partial(cells.whole, least=1, most=MOST_DAYS), for_good),
    )
    if bool(found.kind) == bool(found.process) and len(keys.findings.problems) == good:
        keys.wrong("kind", Refusal("safety.kind_or_process"))
    return found
