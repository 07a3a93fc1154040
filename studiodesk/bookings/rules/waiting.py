"""The waiting list: may somebody wait, when could it be, and how long is a time kept.  Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from studiodesk.answers import Refusal
from studiodesk.timekeeping import Span, studio_day

from . import needs
from .asking import LONGEST
from .needs import Need

MOST_WISHES = 10
FURTHEST = timedelta(days=365)
#: What begins sooner is not offered: nobody reads a letter that fast.
SOONEST = timedelta(minutes=30)
#: An answer is wanted so long before it begins, so that somebody else can still have it.
ANSWER_BEFORE = timedelta(minutes=15)
#: A wish that lets so many offers run out ends.
MOST_RUN_OUT = 2
#: How far from a time that became free a stay may lie that it makes possible: set-up, clear-up and kit reach so far.
REACH = timedelta(hours=4)

#: Refusals that say the same whatever the time: the next in line is asked.
OF_THE_PERSON = frozenset(
    {
        "bookings.not_a_member",
        "bookings.needs_adult",
        "bookings.paused",
        "bookings.stay_too_long",
        "bookings.too_many_guests",
        "bookings.too_many_open",
        "bookings.none_ahead",
        "bookings.note_not_acknowledged",
        "bookings.no_sign_off",
        "bookings.kit_does_not_fit",
        "bookings.kit_too_many",
    }
)
#: Refusals that say the same throughout a day.
OF_THE_DAY = frozenset(
    {
        "bookings.no_membership",
        "bookings.membership_ends",
        "bookings.too_far_ahead",
        "bookings.month_used_up",
    }
)


def windows(need: Need, zone: ZoneInfo) -> Iterator[Span]:
    """Within which instants the stay may lie, for each day that is wished and is long enough for it."""
    if need.first_day is None or need.last_day is None:
        return
    for number in range((need.last_day - need.first_day).days + 1):
        found = needs.window(need.first_day + timedelta(days=number), need, zone)
        if found is not None and found.length >= need.stay:
            yield found


def outer(need: Need, zone: ZoneInfo) -> Span | None:
    """From the beginning of the first window to the end of the last; None if there is no window."""
    spans = list(windows(need, zone))
    return Span(spans[0].starts, max(span.ends for span in spans)) if spans else None


def may_wait(
    need: Need, *, now: datetime, zone: ZoneInfo, grid: timedelta, waits_for: Sequence[Need], fitting: int
) -> Refusal | None:
    """``need`` with its days; ``waits_for``: what the person waits for already; ``fitting``: how many stations fit."""
    today, first, last = studio_day(now, zone), need.first_day, need.last_day
    if first is None or last is None or last < first:
        return Refusal("bookings.wish_days_turned", {"status": 422})
    return (
        _days_refusal(last, today)
        or _length_refusal(need.stay, grid)
        or _window_refusal(need, now, zone)
        or (Refusal("bookings.wish_fits_nothing") if not fitting else None)
        or _line_refusal(need, waits_for)
    )


def _days_refusal(last: date, today: date) -> Refusal | None:
    if last < today:
        return Refusal("bookings.wish_past", {"day": last})
    if last > today + FURTHEST:
        return Refusal("bookings.wish_too_far", {"until": today + FURTHEST})
    return None


def _length_refusal(stay: timedelta, grid: timedelta) -> Refusal | None:
    if stay < grid:
        return Refusal("bookings.too_short", {"shortest": grid})
    if stay > LONGEST:
        return Refusal("bookings.too_long", {"longest": LONGEST})
    if stay % grid:
        return Refusal("bookings.off_grid", {"grid": grid})
    return None


def _window_refusal(need: Need, now: datetime, zone: ZoneInfo) -> Refusal | None:
    """One reason for all the days together: there is no room, or what room there was has gone by."""
    long_enough = list(windows(need, zone))
    if not long_enough:
        return Refusal("bookings.wish_without_room", {"length": need.stay})
    if not any(span.ends - need.stay >= now + SOONEST for span in long_enough):
        return Refusal("bookings.wish_past", {"day": need.last_day})
    return None


def _line_refusal(need: Need, waits_for: Sequence[Need]) -> Refusal | None:
    if need in waits_for:
        return Refusal("bookings.wished_before")
    if len(waits_for) >= MOST_WISHES:
        return Refusal("bookings.too_many_wishes", {"count": len(waits_for)})
    return None


def kept_until(now: datetime, minutes: int, starts: datetime) -> datetime:
    """Until when an answer is waited for."""
    return min(now + timedelta(minutes=minutes), starts - ANSWER_BEFORE)


@dataclass(frozen=True)
class Run:
    """A station (its place in the studio's list) is free for the stay from any of these starts."""

    station: int
    kind: str
    first: datetime
    last: datetime


@dataclass(frozen=True)
class Stay:
    station: int
    span: Span


def stays(
    runs: Iterable[Run],
    need: Need,
    *,
    not_before: datetime,
    avoid: Sequence[Span],
    grid: timedelta,
    zone: ZoneInfo,
    within: Span | None = None,
) -> list[Stay]:
    """Every stay that suits, the earliest first, stations of one start in the studio's order.

    ``avoid``: when the person is here anyway, and what this wish was offered before.  ``within``: only what shares an
    instant with it.
    """
    at: dict[datetime, list[Run]] = {}
    for run in runs:
        start = run.first
        while start <= run.last:
            at.setdefault(start, []).append(run)
            start += grid
    found = []
    for start in sorted(at):
        span = Span(start, start + need.stay)
        if start < not_before or not needs.suits(span, need, zone):
            continue
        if any(span.overlaps(other) for other in avoid) or (within is not None and not span.overlaps(within)):
            continue
        kinds = [run.kind for run in at[start]]
        for run in sorted(at[start], key=lambda one: one.station):
            # Whoever comes with a friend needs a second station of the kind.
            if not need.beside or kinds.count(run.kind) > 1:
                found.append(Stay(run.station, span))
    return found


@dataclass(frozen=True)
class InLine:
    """A wish as its neighbours in the line see it."""

    key: int
    window: Span
    stations: frozenset[int]


def places(line: Sequence[InLine]) -> dict[int, int]:
    """Each wish's place: 1 and those before it who wait for one of the same stations on the same days."""
    out: dict[int, int] = {}
    for number, wish in enumerate(line):
        before = (other for other in line[:number] if other.stations & wish.stations)
        out[wish.key] = 1 + sum(other.window.overlaps(wish.window) for other in before)
    return out


def may_answer(answer: str, until: datetime, now: datetime) -> Refusal | None:
    """``answer``: what was answered so far ("", "taken", "declined", "ran out")."""
    if answer == "taken":
        return Refusal("bookings.offer_taken")
    if answer == "declined":
        return Refusal("bookings.offer_declined")
    if answer == "ran out" or now >= until:
        return Refusal("bookings.offer_over", {"until": until})
    return None
