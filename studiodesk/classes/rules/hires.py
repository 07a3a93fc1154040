"""A group that hires: who answers for it, how many come, how many look after them.  Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from studiodesk.answers import Refusal
from studiodesk.timekeeping import MissingTime, Span, localise

from .dates import supervisors_needed

#: The longest that something is kept in one piece, and how far ahead.
MOST_DAYS, MOST_YEARS = 183, 5


@dataclass(frozen=True)
class Group:
    """``heads`` come, ``supervisors`` with them; ``heads_a_supervisor`` None: nobody has to look after them."""

    organisation: str
    contact_name: str
    contact_email: str
    contact_phone: str = ""
    heads: int = 1
    supervisors: int = 0
    heads_a_supervisor: int | None = None


def group_refusal(group: Group) -> Refusal | None:
    """Is it known who answers for them, and do enough look after them?"""
    if group.heads < 1:
        return Refusal("classes.hire_no_heads", {"status": 422})
    if not group.contact_email.strip():
        return Refusal("classes.hire_no_contact", {"status": 422})
    if not group.heads_a_supervisor:
        return None
    needed = supervisors_needed(group.heads, group.heads_a_supervisor)
    if group.supervisors >= needed:
        return None
    facts = {
        "heads": group.heads,
        "ratio": group.heads_a_supervisor,
        "needed": needed,
        "supervisors": group.supervisors,
        "status": 422,
    }
    return Refusal("classes.too_few_supervisors", facts)


def spans_of(
    days: list[date], begins: time, ends: time, nights: int, today: date, zone: ZoneInfo
) -> list[Span] | Refusal:
    """From ``begins`` on each of ``days`` to ``ends`` so many nights later, by the wall clock; or why not."""
    if min(days) < today:
        return Refusal("classes.day_past", {"day": min(days)})
    if max(days) > today + timedelta(days=365 * MOST_YEARS):
        return Refusal("classes.too_far_ahead", {"years": MOST_YEARS})
    if nights > MOST_DAYS:
        return Refusal("classes.kept_too_long", {"days": MOST_DAYS})
    out = []
    for day in days:
        last = day + timedelta(days=nights)
        try:
            starts, until = (
                localise(datetime.combine(on, at), zone, strict=True) for on, at in ((day, begins), (last, ends))
            )
        except MissingTime:
            return Refusal("classes.no_such_time", {"day": day})
        out.append(Span(starts, until))
    return out
