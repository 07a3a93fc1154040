"""An outline and classes made of it, in the small house of ``makers``."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from studiodesk.classes import actions
from studiodesk.classes.models import Course, Outline
from studiodesk.timekeeping import Span
from tests import makers

HOUR = timedelta(hours=1)


def outline(house: Any, now: datetime, *, code: str = "first-prints", **more: Any) -> Outline:
    """First prints: three hours, four people, two at a booth, places at the RC processor, half an hour round it."""
    says = {
        "name": "First prints",
        "meetings": 1,
        "length_minutes": 180,
        "before_minutes": 30,
        "after_minutes": 30,
        "heads_least": 2,
        "heads_most": 4,
        "heads_a_station": 2,
        "price_minor": 6000,
        "member_price_minor": 4500,
        "free_cancel_days": 7,
        "decide_days": 3,
        "process": house.processes["rc"],
    }
    needs = more.pop("needs", [("enlarger booth", house.processes["rc"], None), ("", house.processes["rc"], None)])
    papers = more.pop("papers", [(203, 254, 4)])
    extra = {name: more.pop(name) for name in ("tutor_needs", "signs_off") if name in more}
    row, _ = actions.write_outline(
        code=code, says={**says, **more}, needs=needs, papers=papers, now=now, by=None, **extra
    )
    return row


def at(now: datetime, days: int = 14, hour: float = 0) -> Span:
    """Three hours from 15:00 in Amsterdam, so many days from the cast's now."""
    starts = now + timedelta(days=days) + hour * HOUR
    return Span(starts, starts + 3 * HOUR)


def course(house: Any, now: datetime, *, days: int = 14, tutor: Any = None, **more: Any) -> Course:
    """One evening of ``outline``; ``of`` takes another one."""
    of = more.pop("of", None) or outline(house, now)
    tutor = tutor or makers.member("Tutor", is_tutor=True)
    spans = more.pop("spans", [at(now, days)])
    return actions.announce(outline=of, spans=spans, tutor=tutor, now=now, by=None, **more)
