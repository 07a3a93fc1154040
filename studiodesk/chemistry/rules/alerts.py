"""Which alerts there are, which comes first, and who may do what with one.  Pure; lengths of time as timedelta."""

from __future__ import annotations

from datetime import datetime, timedelta

from studiodesk.answers import Refusal

REPLENISHMENT_DUE, AT_ITS_END, CONTAMINATED = "replenishment due", "at its end", "contaminated"
EVAPORATION, PUMP_OFF, UNLOGGED = "evaporation", "pump off", "unlogged"
STRIP_ACTION, SECOND_STRIP, HELD, DRIFT = "strip past action", "second strip", "processor held", "drift"
TEMPERATURE, JOB_OVERDUE, NOT_CLOSED = "out of tolerance", "job overdue", "not closed"
REORDER, EXPIRED, WASTE_FULL, PERMIT_ENDS = "reorder", "expired", "waste full", "permit ends"

#: Nothing more may go through (or in): said with an octagon.
STOPS = (HELD, CONTAMINATED, AT_ITS_END, SECOND_STRIP)
#: To be done before the next sheets, or today: a triangle.
SOON = (TEMPERATURE, REPLENISHMENT_DUE, WASTE_FULL, STRIP_ACTION, NOT_CLOSED, PUMP_OFF, EXPIRED)
#: To be looked into when there is time: a square.
LATER = (DRIFT, UNLOGGED, EVAPORATION, JOB_OVERDUE, REORDER, PERMIT_ENDS)
#: The worst first.
IN_ORDER = (*STOPS, *SOON, *LATER)

#: No rule can see that these are over: whoever looked into one clears it, with a reason.
BY_HAND = frozenset({EVAPORATION, PUMP_OFF, UNLOGGED})

#: What is mostly done within minutes is not worth a letter before.
GRACE = {REPLENISHMENT_DUE: timedelta(minutes=15), TEMPERATURE: timedelta(minutes=15)}

#: A form's own minute is no delay: what is written down later than this after it was so, is late.
LATE_FROM = timedelta(minutes=5)
MOST_PUT_OFF = timedelta(days=14)


def urgency(kind: str) -> int:
    """The place of a kind, 0 the worst; one that nobody sorted comes first, so that it is seen."""
    return IN_ORDER.index(kind) if kind in IN_ORDER else -1


def shape(kind: str) -> str:
    """ "octagon", "triangle" or "square", as a bath's word has it."""
    return "square" if kind in LATER else "triangle" if kind in SOON else "octagon"


def key_of(kind: str, what: str, pk: int) -> str:
    """Of what an alert is: at most one stands open for it.  ``what`` is the table: "bath", "processor", "job" …"""
    return f"{kind}:{what}:{pk}"


def is_late(since: datetime | None, now: datetime, *, by_a_person: bool) -> bool:
    """A person writes down what was so for a while; a timer that comes late has written nothing down late."""
    return by_a_person and since is not None and since < now - LATE_FROM


def is_put_off(until: datetime | None, now: datetime) -> bool:
    """Until that very moment; then it is there again by itself."""
    return until is not None and now < until


def may_take(*, cleared: bool, taken_by: str, over: bool) -> Refusal | None:
    """``taken_by``: the name of somebody else who has it; ``over``: it is said that it is taken from them."""
    if cleared:
        return Refusal("chemistry.alert_cleared")
    if taken_by and not over:
        return Refusal("chemistry.alert_taken", {"name": taken_by})
    return None


def may_give_back(*, cleared: bool, is_theirs: bool, is_staff: bool) -> Refusal | None:
    if cleared:
        return Refusal("chemistry.alert_cleared")
    return None if is_theirs or is_staff else Refusal("chemistry.alert_not_yours", {"status": 403})


def may_put_off(*, cleared: bool, until: datetime, reason: str, now: datetime) -> Refusal | None:
    """Until a time to come, two weeks at most, and never without a word why."""
    if cleared:
        return Refusal("chemistry.alert_cleared")
    if until <= now:
        return Refusal("chemistry.alert_until_past", {"until": until})
    if until > now + MOST_PUT_OFF:
        return Refusal("chemistry.alert_until_far", {"days": MOST_PUT_OFF.days})
    return None if reason.strip() else Refusal("chemistry.alert_reason")


def may_clear(kind: str, *, cleared: bool, reason: str) -> Refusal | None:
    """By hand only where no rule can see it."""
    if cleared:
        return Refusal("chemistry.alert_cleared")
    if kind not in BY_HAND:
        return Refusal("chemistry.alert_by_rule")
    return None if reason.strip() else Refusal("chemistry.alert_reason")
