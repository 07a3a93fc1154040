"""At the door: is there room, would anybody be alone, who outstays their time, what was not logged.  Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from studiodesk.answers import Refusal

#: So long after the end of their time whoever is still signed in counts as in the house; later they forgot.
FORGOTTEN = timedelta(hours=12)
#: Somebody without a booking has no end: so long after they came they count as in.
LONGEST_VISIT = timedelta(hours=16)
#: On one's own phone a slip can be taken back for so long; the desk may longer.
TAKE_BACK = timedelta(minutes=15)
#: Whoever left is asked about their sheets for so long, and may still add them.
ASK_FOR = timedelta(hours=24)
MOST_HEADS = 20


@dataclass(frozen=True)
class Present:
    """Somebody who is in, or comes: ``who`` is a person's id, None for whoever has none; ``heads`` with them."""

    who: int | None
    heads: int = 1


def heads(present: Iterable[Present]) -> int:
    """How many people that are: whoever is known counts once, however often they are signed in."""
    rows = list(present)
    known = {one.who for one in rows if one.who is not None}
    return len(known) + sum(one.heads - (one.who is not None) for one in rows)


def may_enter(present: Iterable[Present], coming: Iterable[Present], limit: int | None) -> Refusal | None:
    """No more people than the house may hold at once; whoever is in already takes no more room."""
    before, with_them = list(present), list(coming)
    inside, after = heads(before), heads([*before, *with_them])
    if limit is None or after <= limit or after <= inside:
        return None
    return Refusal("bookings.house_full_now", {"inside": inside, "coming": after - inside, "heads": limit})


def not_alone(present: Iterable[Present], coming: Iterable[Present], least: int) -> Refusal | None:
    """The rule for being alone: with whoever comes there have to be so many people in."""
    after = heads([*present, *coming])
    return Refusal("bookings.alone", {"least": least, "inside": after}) if after < least else None


def is_too_few(inside: int, least: int) -> bool:
    """Somebody is in the house, but fewer than the house's rule asks for."""
    return 0 < inside < least


def may_come_in(kind: str, *, is_theirs: bool, by_house: bool, has_name: bool, count: int) -> Refusal | None:
    """A walk-in is noted at the desk; keyholder and tutor say themselves that they are in, or the desk does.

    ``is_theirs``: whoever comes has that role.
    """
    if kind == "walk-in" and not by_house:
        return Refusal("bookings.walk_in_at_the_desk", {"status": 403})
    if kind != "walk-in" and not is_theirs:
        return Refusal("bookings.not_that_role", {"status": 422})
    if not has_name:
        return Refusal("bookings.name_needed", {"status": 422})
    if not 1 <= count <= MOST_HEADS:
        return Refusal("bookings.heads_needed", {"most": MOST_HEADS, "status": 422})
    return None


def may_take_back(at: datetime | None, now: datetime) -> bool:
    """On one's own phone: is that so short a while ago that it can be a slip?"""
    return at is not None and at <= now <= at + TAKE_BACK


# ---- sheets that nobody logged -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Session:
    """What decides whether somebody is asked about their sheets."""

    has_processor: bool
    arrived_at: datetime | None
    left_at: datetime | None
    said: str = ""
    logged: bool = False


def asks_about_sheets(session: Session, now: datetime) -> bool:
    """Somebody signed out of a stay at a processor, logged nothing for it, and has not been asked yet."""
    left = session.left_at
    if left is None or session.arrived_at is None or not session.has_processor:
        return False
    return not session.said and not session.logged and now < left + ASK_FOR


def may_say_of_sheets(session: Session) -> Refusal | None:
    if not session.has_processor:
        return Refusal("bookings.no_sheets_here")
    return Refusal("bookings.not_arrived") if session.arrived_at is None else None


def may_log_own(session: Session, now: datetime) -> Refusal | None:
    """One's own sheets: from the sign-in until a day after the sign-out; later the desk writes them down."""
    refusal = may_say_of_sheets(session)
    if refusal is None and session.left_at is not None and now >= session.left_at + ASK_FOR:
        return Refusal("bookings.too_late_for_sheets", {"until": session.left_at + ASK_FOR})
    return refusal


# ---- whoever outstays ----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Stay:
    """A booking that stands: not cancelled, and its time not given back.  ``waits``: nobody has said yes to it yet."""

    key: int
    station: int
    member: int
    starts: datetime
    ends: datetime
    arrived_at: datetime | None = None
    left_at: datetime | None = None
    waits: bool = False


@dataclass(frozen=True)
class Overrun:
    """``sits`` has to make room for ``next``.  ``is_over``: their own time has ended, so the next is told."""

    sits: int
    next: int
    is_over: bool


def overruns(stays: Iterable[Stay], now: datetime, minutes: int) -> list[Overrun]:
    """Who sits where somebody else begins within so many minutes; from so many minutes before their own end on.

    Whoever signed in last is who sits there: an earlier one who never signed out has long gone.
    """
    at_station: dict[int, list[Stay]] = defaultdict(list)
    for stay in stays:
        at_station[stay.station].append(stay)
    soon, found = timedelta(minutes=minutes), []
    for many in at_station.values():
        many.sort(key=lambda stay: stay.starts)
        came = [stay for stay in many if stay.arrived_at is not None]
        sits = came[-1] if came else None
        if sits is None or sits.left_at is not None or not sits.ends - soon <= now < sits.ends + FORGOTTEN:
            continue
        after = (one for one in many if one.arrived_at is None and not one.waits and one.starts >= sits.ends)
        following = next((one for one in after if one.ends > now), None)
        if following and following.member != sits.member and following.starts <= now + soon:
            found.append(Overrun(sits.key, following.key, now >= sits.ends))
    return found
