"""A shift as its pages show it: how it stands, and what whoever looks may do with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from studiodesk.answers import Refusal
from studiodesk.people.models import Member
from studiodesk.timekeeping import Span

from .. import queries
from ..models import Shift, ShiftSwap
from ..rules import shifts as rules


@dataclass(frozen=True)
class Line:
    """``can`` holds the names of the deeds whose buttons are shown."""

    shift: Shift
    swap: ShiftSwap | None
    is_yours: bool
    is_over: bool
    runs: bool
    can: frozenset[str]


def line(shift: Shift, swap: ShiftSwap | None, by: Member, now: datetime, theirs: Sequence[Span] = ()) -> Line:
    """``theirs`` are other shifts of whoever looks that share time with this one."""
    duty, hand = queries.duty(shift, swap), queries.hand(by)
    holder = queries.hand(shift.person) if shift.person else None
    yours = shift.person_id == by.pk
    helps = rules.may_supervise(duty, holder, hand, by.name, now)
    refusals: dict[str, Refusal | bool | None] = {
        "take": rules.may_take(duty, hand, by.name, theirs, now),
        "take-over": rules.may_take_over(duty, hand, by.name, theirs, now),
        "give-back": rules.may_give_back(duty, hand, now),
        "ask": swap is not None or rules.may_ask_swap(duty, hand, now),
        "withdraw": swap is None or not yours,
        "begin": shift.began_at is not None or not yours or rules.may_begin(duty, hand, now),
        "end": shift.ended_at is not None or not yours or rules.may_end(duty, hand),
        "note": not yours or rules.may_hand_over(duty, hand, now),
        "helps": shift.supervises or helps,
        "helps-not": not shift.supervises or helps,
        "assign": not by.is_staff or shift.called_off_at is not None or duty.is_over(now),
        "call-off": not by.is_staff or shift.called_off_at is not None or duty.is_over(now),
        "put-back": not by.is_staff or shift.called_off_at is None or duty.is_over(now),
    }
    can = frozenset(deed for deed, refusal in refusals.items() if refusal is None or refusal is False)
    return Line(shift, swap, yours, duty.is_over(now), duty.span.holds(now), can)
