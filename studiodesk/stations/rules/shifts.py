"""Who may have a shift, give it away and end it; which shifts a week of opening hours asks for.  Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise
from math import ceil
from zoneinfo import ZoneInfo

from studiodesk.answers import Refusal
from studiodesk.timekeeping import Span, localise, without

from .hours import MINUTES_A_DAY, Hours, wall

#: Later than this before it begins a shift is handed on to somebody, not simply given back.
GIVE_BACK_UNTIL = timedelta(hours=48)
#: A shift that nobody has is told of twice: so long before it begins, the longest first.
OPEN_7D, OPEN_48H = timedelta(days=7), timedelta(hours=48)
#: So long before it begins and after it ends somebody is on their shift.
AROUND = timedelta(minutes=30)
#: A hand-over note can still be written so long after the end.
NOTE_UNTIL = timedelta(hours=24)
CUT_STEP = timedelta(minutes=15)
#: A rest shorter than this is no shift.
SHORTEST = timedelta(minutes=30)
LONGEST = timedelta(hours=24)
MOST_WEEKS = 26


@dataclass(frozen=True)
class Hand:
    """Somebody who would like to do something with a shift."""

    pk: int
    is_active: bool = True
    is_keyholder: bool = False
    is_tutor: bool = False
    is_staff: bool = False

    @property
    def may_hold(self) -> bool:
        return self.is_active and (self.is_keyholder or self.is_tutor or self.is_staff)

    @property
    def may_supervise(self) -> bool:
        return self.is_active and (self.is_tutor or self.is_staff)


@dataclass(frozen=True)
class Duty:
    """A shift as it stands; ``offered_by`` is who asks that somebody takes it over."""

    span: Span
    person: int | None = None
    began_at: datetime | None = None
    ended_at: datetime | None = None
    called_off_at: datetime | None = None
    offered_by: int | None = None

    def is_over(self, now: datetime) -> bool:
        return self.span.ends <= now or self.ended_at is not None


# ---- planning ------------------------------------------------------------------------------------------------------


def _asked_for(first: date, days: int, hours: Hours, zone: ZoneInfo) -> list[Span]:
    """The opening spans that begin on these days, each of its own; one that runs over midnight is one span."""
    pieces: list[tuple[int, int]] = []  # minutes of the wall clock after the first midnight
    for number in range(days + 1):
        day = first + timedelta(days=number)
        if hours.closed_because(day) is not None:
            continue
        at = number * MINUTES_A_DAY
        for opens, closes in sorted(hours.week.get(day.weekday(), ())):
            goes_on = opens == 0 and closes < MINUTES_A_DAY and pieces and pieces[-1][1] == at
            if goes_on and pieces[-1][0] > at - MINUTES_A_DAY:
                pieces[-1] = (pieces[-1][0], at + closes)
            elif number < days:
                pieces.append((at + opens, at + closes))
    moments = [(localise(wall(first, begins), zone), localise(wall(first, ends), zone)) for begins, ends in pieces]
    return [Span(starts, ends) for starts, ends in moments if starts < ends]


def whole_time(first: date, weeks: int, zone: ZoneInfo) -> Span:
    """Everything that ``planned`` may plan: the weeks, and the night after the last day."""
    return Span(localise(wall(first, 0), zone), localise(wall(first, (7 * weeks + 1) * MINUTES_A_DAY), zone))


def cut(span: Span, longest: timedelta | None) -> list[Span]:
    """``span`` in as few parts as are needed so that none is longer than ``longest``, even to a quarter hour."""
    parts = 1 if longest is None else max(1, ceil(span.length / longest))
    edges = [span.starts + ceil(span.length * n / parts / CUT_STEP) * CUT_STEP for n in range(parts)]
    return [Span(starts, ends) for starts, ends in pairwise([*edges, span.ends]) if starts < ends]


def planned(
    first: date,
    weeks: int,
    hours: Hours,
    zone: ZoneInfo,
    *,
    standing: Sequence[Span] = (),
    longest: timedelta | None = None,
    now: datetime,
) -> list[Span]:
    """The shifts that the week's opening hours ask for, ``weeks`` weeks from ``first``, and that are not there yet.

    By the wall clock, so that a clock change moves nothing.  None on a closed day, none where one stands (of a span
    that is partly covered the rest is planned), none that would have begun.
    """
    found = []
    for asked in _asked_for(first, 7 * weeks, hours, zone):
        for part in cut(asked, longest):
            for gap in without([part], [one for one in standing if one.overlaps(part)]):
                if gap.length >= SHORTEST and gap.starts > now:
                    found.append(gap)
    return found


def may_add(starts: datetime, ends: datetime, now: datetime) -> Refusal | None:
    """May a shift of its own be added, in or outside the week's opening hours?"""
    if starts < now:
        return Refusal("stations.shift_in_the_past", {"starts": starts})
    if ends - starts > LONGEST:
        return Refusal("stations.shift_too_long", {"longest": LONGEST})
    return None


# ---- who may -------------------------------------------------------------------------------------------------------


def overlapping(wanted: Span, theirs: Iterable[Span]) -> Span | None:
    """A shift of the same person that shares an instant with ``wanted``; shifts that only touch do not."""
    return next((span for span in sorted(theirs) if span.overlaps(wanted)), None)


def _stands(duty: Duty, now: datetime) -> Refusal | None:
    if duty.called_off_at is not None:
        return Refusal("stations.shift_called_off", {"starts": duty.span.starts})
    if duty.is_over(now):
        return Refusal("stations.shift_is_over", {"ends": duty.ended_at or duty.span.ends})
    return None


def _has_time(duty: Duty, name: str, theirs: Iterable[Span]) -> Refusal | None:
    other = overlapping(duty.span, theirs)
    if other is None:
        return None
    return Refusal("stations.shifts_overlap", {"name": name, "starts": other.starts, "ends": other.ends})


def may_take(duty: Duty, hand: Hand, name: str, theirs: Iterable[Span], now: datetime) -> Refusal | None:
    """May ``hand`` (``name``, with the shifts ``theirs``) take a shift that nobody has?"""
    if not hand.may_hold:
        return Refusal("stations.no_shifts_for", {"name": name})
    refusal = _stands(duty, now)
    if refusal is None and duty.person is not None:
        refusal = Refusal("stations.shift_taken", {"starts": duty.span.starts})
    return refusal or _has_time(duty, name, theirs)


def may_assign(duty: Duty, hand: Hand, name: str, theirs: Iterable[Span], now: datetime) -> Refusal | None:
    """May staff give this shift to ``hand``, whoever has it?"""
    if not hand.may_hold:
        return Refusal("stations.no_shifts_for", {"name": name})
    return _stands(duty, now) or _has_time(duty, name, theirs)


def may_give_back(duty: Duty, hand: Hand, now: datetime) -> Refusal | None:
    """One's own, while more than 48 hours are left; staff may at any time, and for others too."""
    if not hand.is_staff and duty.person != hand.pk:
        return Refusal("stations.shift_not_yours")
    refusal = _stands(duty, now)
    if refusal is None and duty.person is None:
        refusal = Refusal("stations.shift_has_nobody")
    if refusal is None and not hand.is_staff and duty.span.starts - now <= GIVE_BACK_UNTIL:
        refusal = Refusal("stations.shift_too_near", {"until": duty.span.starts - GIVE_BACK_UNTIL})
    return refusal


def may_ask_swap(duty: Duty, hand: Hand, now: datetime) -> Refusal | None:
    """One's own, until it has begun: from then on it is for whoever is there to end it."""
    if duty.person != hand.pk:
        return Refusal("stations.shift_not_yours")
    refusal = _stands(duty, now)
    if refusal is None and duty.began_at is not None:
        refusal = Refusal("stations.shift_has_begun", {"at": duty.began_at})
    return refusal


def may_take_over(duty: Duty, hand: Hand, name: str, theirs: Iterable[Span], now: datetime) -> Refusal | None:
    """May ``hand`` take a shift that somebody asks to have taken over?"""
    if not hand.may_hold:
        return Refusal("stations.no_shifts_for", {"name": name})
    if duty.offered_by is None:
        return Refusal("stations.swap_is_over")
    if duty.person == hand.pk:
        return Refusal("stations.swap_is_your_own")
    return _stands(duty, now) or _has_time(duty, name, theirs)


def may_supervise(duty: Duty, holder: Hand | None, hand: Hand, name: str, now: datetime) -> Refusal | None:
    """May ``hand`` say that whoever has the shift helps beginners?  Only of a tutor or one of the staff."""
    if not hand.is_staff and duty.person != hand.pk:
        return Refusal("stations.shift_not_yours")
    if holder is None:
        return Refusal("stations.shift_has_nobody")
    if not holder.may_supervise:
        return Refusal("stations.cannot_supervise", {"name": name})
    return _stands(duty, now)


def may_begin(duty: Duty, hand: Hand, now: datetime) -> Refusal | None:
    """From half an hour before until half an hour after: whoever opened with wet hands notes it later."""
    refusal = _looks_after(duty, hand)
    if refusal is None and now < duty.span.starts - AROUND:
        refusal = Refusal("stations.shift_not_yet", {"from": duty.span.starts - AROUND})
    if refusal is None and (duty.ended_at is not None or now > duty.span.ends + AROUND):
        refusal = Refusal("stations.shift_is_over", {"ends": duty.ended_at or duty.span.ends})
    return refusal


def may_end(duty: Duty, hand: Hand) -> Refusal | None:
    refusal = _looks_after(duty, hand)
    if refusal is None and duty.began_at is None:
        refusal = Refusal("stations.shift_not_begun")
    return refusal


def may_hand_over(duty: Duty, hand: Hand, now: datetime) -> Refusal | None:
    """A note for whoever comes next: from half an hour before the shift until a day after it."""
    refusal = _looks_after(duty, hand)
    if refusal is None and now < duty.span.starts - AROUND:
        refusal = Refusal("stations.shift_not_yet", {"from": duty.span.starts - AROUND})
    if refusal is None and now > duty.span.ends + NOTE_UNTIL:
        refusal = Refusal("stations.note_too_late", {"until": duty.span.ends + NOTE_UNTIL})
    return refusal


def _looks_after(duty: Duty, hand: Hand) -> Refusal | None:
    if duty.called_off_at is not None:
        return Refusal("stations.shift_called_off", {"starts": duty.span.starts})
    if duty.person is None:
        return Refusal("stations.shift_has_nobody")
    if not hand.is_staff and duty.person != hand.pk:
        return Refusal("stations.shift_not_yours")
    return None


# ---- uncovered -----------------------------------------------------------------------------------------------------


def is_due(starts: datetime, ahead: timedelta, now: datetime) -> bool:
    """Must a shift that nobody has be told of at this step, ``OPEN_7D`` or ``OPEN_48H``?

    One that comes up within 48 hours is told of once, not twice in the same minute.
    """
    left = starts - now
    nearer = OPEN_48H if ahead == OPEN_7D else timedelta(0)
    return nearer < left <= ahead
