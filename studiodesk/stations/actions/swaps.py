"""Shifts that somebody asks to have taken over: until somebody does they stay theirs."""

from __future__ import annotations

from datetime import datetime

from studiodesk.acts import act
from studiodesk.answers import refuse
from studiodesk.people.models import Member

from .. import queries
from ..models import Shift, ShiftSwap
from ..rules import shifts as rules
from .shift_rows import give_to, locked_for, locked_shift, require, settle, tell_all, wrote


@act
def ask_swap(*, shift: Shift, now: datetime, by: Member) -> ShiftSwap:
    """Whoever has the shift asks that somebody takes it; until then it stays theirs."""
    row, swap = locked_shift(shift)
    require(rules.may_ask_swap(queries.duty(row, swap), queries.hand(by), now))
    if swap is not None:
        return swap
    swap = ShiftSwap.objects.create(shift=row, asked_by=by, asked_at=now)
    entry = wrote("stations.swap_asked", row, now, by, swap=swap.pk)
    tell_all(entry, "stations.swap_asked", queries.who_may_hold().exclude(pk=by.pk), now)
    return swap


@act
def take_over(*, shift: Shift, now: datetime, by: Member) -> Shift:
    """Somebody takes a shift over from whoever asked; that person is told."""
    row, swap, whom, theirs = locked_for(shift, by)
    if swap is None and row.person_id == whom.pk and row.called_off_at is None:
        return row
    require(rules.may_take_over(queries.duty(row, swap), queries.hand(whom), whom.name, theirs, now))
    if swap is None:
        refuse("stations.swap_is_over")
    before = swap.asked_by
    give_to(row, whom)
    settle(swap, now, whom)
    entry = wrote("stations.swap_taken", row, now, by, swap=swap.pk, person=before.pk)
    tell_all(entry, "stations.swap_taken", [before], now)
    return row


@act
def withdraw_swap(*, shift: Shift, now: datetime, by: Member) -> Shift:
    """Whoever asked keeps their shift after all.  Nothing happens if nobody asks any more."""
    row, swap = locked_shift(shift)
    if swap is not None:
        if swap.asked_by_id != by.pk:
            refuse("stations.shift_not_yours")
        settle(swap, now)
        wrote("stations.swap_withdrawn", row, now, by, swap=swap.pk)
    return row
