"""What the rules of the house say to one person's wish: which of them stand in its way.  Pure.

Unlike what is taken, these can be set aside by staff with a reason, so all that are broken are named, not the first
alone.  The numbers in the refusals are the rules' own.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from studiodesk.answers import Refusal
from studiodesk.timekeeping import Span, localise, studio_day

from .asking import Asked
from .house import HouseRules

HOUR = timedelta(hours=1)
ZERO = timedelta(0)


@dataclass(frozen=True)
class OwnStay:
    """A booking of the person: ``late_at`` is when it was cancelled too late, ``missed``: nobody came to it."""

    starts: datetime
    ends: datetime
    late_at: datetime | None = None
    missed: bool = False

    @property
    def is_open(self) -> bool:
        return self.late_at is None and not self.missed

    @property
    def strike_at(self) -> datetime | None:
        """When it went against the person; None if it did not."""
        return self.late_at or (self.starts if self.missed else None)


@dataclass(frozen=True)
class Person:
    """Who books.  ``plan`` is the name of the membership that holds on the asked day, "" if there is none;
    ``member_until`` the last day of the latest that began by then; ``lacks`` what they are not signed off for;
    ``supervised`` when somebody is there who helps.  ``own`` leaves out the booking that is being changed.
    """

    plan: str = ""
    member_until: date | None = None
    runs_the_house: bool = False
    born_on: date | None = None
    own: Sequence[OwnStay] = ()
    lacks: tuple[str, ...] = ()
    supervised: Sequence[Span] = ()


def age_on(born: date, day: date) -> int:
    """Whole years; who was born on 29 February has a birthday on 1 March in other years."""
    return day.year - born.year - ((day.month, day.day) < (born.month, born.day))


def broken(asked: Asked, person: Person, rules: HouseRules, zone: ZoneInfo) -> list[Refusal]:
    """Every rule of the house that the wish breaks, the gravest first; empty if it breaks none.

    Whom the house moves has had their share counted when they booked: only what keeps people safe is asked again.
    """
    safe = (
        _membership(asked, person, rules, zone),
        _adult(asked, person, rules, zone),
        _sign_off(asked, person),
    )
    shares = (
        _pause(asked, person, rules),
        _far_ahead(asked, rules, zone),
        _length(asked, rules),
        _guests(asked, rules),
        _open_bookings(asked, person, rules),
        _month(asked, person, rules, zone),
        _peak(asked, person, rules, zone),
    )
    return [refusal for refusal in (*safe, *(() if asked.is_moved_by_house else shares)) if refusal is not None]


def _membership(asked: Asked, person: Person, rules: HouseRules, zone: ZoneInfo) -> Refusal | None:
    if not rules.number("membership_needed") or person.plan or person.runs_the_house:
        return None
    day = studio_day(asked.starts, zone)
    if person.member_until is not None and person.member_until < day:
        return Refusal("bookings.membership_ends", {"last_day": person.member_until, "day": day})
    return Refusal("bookings.no_membership", {"day": day})


def _adult(asked: Asked, person: Person, rules: HouseRules, zone: ZoneInfo) -> Refusal | None:
    age = rules.number("adult_age")
    if person.born_on is None or asked.adult_name or age_on(person.born_on, studio_day(asked.starts, zone)) >= age:
        return None
    return Refusal("bookings.needs_adult", {"age": age})


def _sign_off(asked: Asked, person: Person) -> Refusal | None:
    """Without a sign-off only a time is to be had in which somebody is there who helps."""
    if not person.lacks or any(span.covers(asked.span) for span in person.supervised):
        return None
    long_enough = [s for s in person.supervised if s.ends > asked.now and s.length >= asked.span.length]
    near = min(long_enough, key=lambda span: abs(span.starts - asked.starts), default=None)
    if near is None:
        return Refusal("bookings.no_sign_off", {"what": list(person.lacks)})
    return Refusal("bookings.no_sign_off_yet", {"what": list(person.lacks), "from_": near.starts, "until": near.ends})


def _pause(asked: Asked, person: Person, rules: HouseRules) -> Refusal | None:
    """So many late cancellations and missed bookings within so many days, and booking rests for a while."""
    most = rules.limit("strikes")
    if most is None or asked.counted is not None:
        return None
    until = paused_until(person.own, asked.now, most, rules.number("strike_days"), rules.number("pause_days"))
    if until is None or until <= asked.now:
        return None
    return Refusal("bookings.paused", {"strikes": most, "days": rules.number("strike_days"), "until": until})


def paused_until(own: Iterable[OwnStay], now: datetime, most: int, within: int, pause: int) -> datetime | None:
    """Until when booking rests after the last of ``most`` strikes within ``within`` days; None if there is no pause."""
    strikes = sorted(stay.strike_at for stay in own if stay.strike_at is not None and stay.strike_at <= now)
    found = None
    for index in range(most - 1, len(strikes)):
        if strikes[index] - strikes[index - most + 1] <= timedelta(days=within):
            found = strikes[index] + timedelta(days=pause)
    return found


def _far_ahead(asked: Asked, rules: HouseRules, zone: ZoneInfo) -> Refusal | None:
    days = rules.limit("days_ahead")
    day = studio_day(asked.starts, zone)
    if days is None or (day - studio_day(asked.now, zone)).days <= days:
        return None
    return Refusal("bookings.too_far_ahead", {"days": days, "from_": day - timedelta(days=days)})


def _length(asked: Asked, rules: HouseRules) -> Refusal | None:
    longest = timedelta(minutes=rules.number("longest_stay_minutes"))
    if asked.span.length <= longest or (asked.counted and asked.span.length <= asked.counted.length):
        return None
    return Refusal("bookings.stay_too_long", {"longest": longest})


def _guests(asked: Asked, rules: HouseRules) -> Refusal | None:
    most = rules.number("guests")
    return Refusal("bookings.too_many_guests", {"most": most, "guests": asked.guests}) if asked.guests > most else None


def _open_bookings(asked: Asked, person: Person, rules: HouseRules) -> Refusal | None:
    most = rules.limit("open_bookings")
    if most is None or asked.counted is not None:
        return None
    ends = sorted(stay.ends for stay in person.own if stay.is_open and stay.ends > asked.now)
    if len(ends) < most:
        return None
    if not most:
        return Refusal("bookings.none_ahead", {"most": 0})
    return Refusal("bookings.too_many_open", {"most": most, "from_": ends[len(ends) - most]})


def month_of(day: date) -> tuple[date, date]:
    """The first day of ``day``'s month and of the next."""
    first = day.replace(day=1)
    return first, (first + timedelta(days=31)).replace(day=1)


def used_in_month(own: Iterable[OwnStay], day: date, rules: HouseRules, zone: ZoneInfo) -> timedelta:
    """Hours of the bookings that begin in ``day``'s local month; missed and late ones only where the house says so."""
    first, after = month_of(day)
    counted = rules.number("missed_hours_count")
    lengths = (
        stay.ends - stay.starts
        for stay in own
        if first <= studio_day(stay.starts, zone) < after and (counted or stay.is_open)
    )
    return sum(lengths, ZERO)


def _month(asked: Asked, person: Person, rules: HouseRules, zone: ZoneInfo) -> Refusal | None:
    hours = rules.limit("month_hours")
    day = studio_day(asked.starts, zone)
    if hours is None or _takes_no_more(asked, lambda span: month_of(studio_day(span.starts, zone))):
        return None
    used = used_in_month(person.own, day, rules, zone)
    if used + asked.span.length <= hours * HOUR:
        return None
    facts = {"hours": hours, "used": used, "left": max(hours * HOUR - used, ZERO), "from_": month_of(day)[1]}
    return Refusal("bookings.month_used_up", facts)


def _takes_no_more(asked: Asked, period_of: object) -> bool:
    """A change that stays in its period and grows no longer asks for nothing new."""
    before = asked.counted
    if before is None or not callable(period_of):
        return False
    return bool(period_of(before) == period_of(asked.span)) and asked.span.length <= before.length


def peak_spans(monday: date, rules: HouseRules, zone: ZoneInfo) -> list[Span]:
    """The peak hours of the week that begins on ``monday``."""
    days, opens, closes = (rules.number(code) for code in ("peak_days", "peak_from", "peak_until"))
    if closes <= opens:
        return []
    spans = []
    for number in range(7):
        if days & (1 << number):
            midnight = datetime.combine(monday + timedelta(days=number), datetime.min.time())
            starts = localise(midnight + timedelta(minutes=opens), zone)
            ends = localise(midnight + timedelta(minutes=closes), zone)
            if starts < ends:
                spans.append(Span(starts, ends))
    return spans


def _within(spans: Sequence[Span], stay: Span) -> timedelta:
    clipped = (span.clipped_to(stay) for span in spans)
    return sum((part.length for part in clipped if part), ZERO)


def _peak(asked: Asked, person: Person, rules: HouseRules, zone: ZoneInfo) -> Refusal | None:
    hours = rules.limit("peak_week_hours")
    if hours is None:
        return None
    day = studio_day(asked.starts, zone)
    monday = day - timedelta(days=day.weekday())
    peak = peak_spans(monday, rules, zone)
    wanted = _within(peak, asked.span)
    if not wanted or (asked.counted and wanted <= _within(peak, asked.counted)):
        return None
    own = (Span(stay.starts, stay.ends) for stay in person.own if stay.is_open)
    used = sum((_within(peak, stay) for stay in own), ZERO)
    if used + wanted <= hours * HOUR:
        return None
    return Refusal(
        "bookings.peak_used_up",
        {
            "hours": hours,
            "used": used,
            "opens": _clock(rules.number("peak_from")),
            "closes": _clock(rules.number("peak_until")),
            "from_": monday + timedelta(days=7),
        },
    )


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02}:{minutes % 60:02}"
