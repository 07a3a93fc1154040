"""Setting the rules of the house.  A number is never changed: a new one holds from its day on."""

from __future__ import annotations

from datetime import date, datetime

from studiodesk.acts import act
from studiodesk.answers import Refused
from studiodesk.journal import actions as journal
from studiodesk.people.models import Member, MembershipPlan
from studiodesk.stations import queries as stations
from studiodesk.timekeeping import studio_day

from .. import queries
from ..models import HouseRule
from ..rules import setting
from ..rules.house import BY_CODE


@act
def set_house_rule(
    *, code: str, plan: MembershipPlan | None, value: int | None, in_force_from: date, now: datetime, by: Member | None
) -> HouseRule | None:
    """From ``in_force_from`` on the rule's number is ``value`` for ``plan`` (None: for everybody whose plan says
    nothing of it); ``value`` None is "no limit".

    Gives the new row, or None if this number holds on that day already.  ``by`` None is the house itself (a
    description that is loaded), which may also say since when it has been so.  Refused: what ``rules.setting.may_set``
    says.
    """
    today = None if by is None else studio_day(now, stations.zone())
    plan_id = plan.pk if plan is not None else None
    by_manager = by is None or (by.is_active and by.is_manager)
    refusal = setting.may_set(code, plan_id, value, in_force_from, today=today, by_manager=by_manager)
    if refusal is not None:
        raise Refused(refusal)
    before = setting.own_number(queries.rule_rows(), code, plan_id, in_force_from)
    # A plan that follows everybody may be given the same number of its own: then it no longer follows.
    if before.value == value if before is not None else plan is None and value == BY_CODE[code].default:
        return None
    row = HouseRule.objects.create(
        code=code, plan=plan, value=value, in_force_from=in_force_from, set_at=now, set_by=by
    )
    facts = {"code": code, "plan": plan_id, "value": value, "day": in_force_from.isoformat()}
    journal.record(code="bookings.rule_set", happened_at=now, now=now, by=by, about=row, facts=facts)
    return row
