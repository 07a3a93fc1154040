"""When the house is open, when a processor is ready, and when the last sheet may go in.  Pure.

Opening hours are wall-clock times; on the two days a year on which the clock changes a span is an hour longer or
shorter in UTC, and everything reckoned from it follows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from studiodesk.answers import Refusal
from studiodesk.timekeeping import Span, localise, merged, studio_day

MINUTES_A_DAY = 1440
STILL_WARM = timedelta(hours=1)


@dataclass(frozen=True)
class Shut:
    """Days on which the whole house is closed to members, both included."""

    first_day: date
    last_day: date
    reason: str = ""

    def covers(self, day: date) -> bool:
        return self.first_day <= day <= self.last_day


@dataclass(frozen=True)
class Hours:
    """``week``: weekday (0 is Monday) → spans as (opens, closes) in minutes after local midnight, closes ≤ 1440.

    With ``shifts`` the week is only the plan: the house is open while somebody has a shift.
    """

    week: Mapping[int, Sequence[tuple[int, int]]]
    closures: Sequence[Shut] = field(default_factory=tuple)
    shifts: Sequence[Span] | None = None

    def closed_because(self, day: date) -> str | None:
        """The reason of the closure on that day ("" if none was given); None when there is no closure."""
        return next((shut.reason for shut in self.closures if shut.covers(day)), None)


def wall(day: date, minutes: int) -> datetime:
    """The wall time so many minutes of the clock after that day's midnight."""
    return datetime.combine(day, time()) + timedelta(minutes=minutes)


def open_spans(day: date, hours: Hours, zone: ZoneInfo) -> list[Span]:
    """The UTC spans in which the house is open on that local day, in time order; none on a closure."""
    if hours.closed_because(day) is not None:
        return []
    if hours.shifts is not None:
        return merged(shift for shift in hours.shifts if studio_day(shift.starts, zone) == day)
    spans = []
    for opens, closes in hours.week.get(day.weekday(), ()):
        starts, ends = localise(wall(day, opens), zone), localise(wall(day, closes), zone)
        if starts < ends:  # a span may vanish into the hour that the clock jumps over
            spans.append(Span(starts, ends))
    return merged(spans)


def open_around(first: date, last: date, hours: Hours, zone: ZoneInfo) -> list[Span]:
    """The opening spans of all days from ``first`` to ``last``, joined where one runs over midnight."""
    days = (first + timedelta(days=n) for n in range((last - first).days + 1))
    return merged(span for day in days for span in open_spans(day, hours, zone))


def ready_time(opening: Span, warm_up: timedelta) -> datetime:
    """Opening + warm-up (common practice)."""
    return opening.starts + warm_up


def last_sheet_in(closing: datetime, dry_to_dry: timedelta, closing_down: timedelta = timedelta(0)) -> datetime:
    """Closing − dry-to-dry − closing-down (common practice)."""
    return closing - dry_to_dry - closing_down


def heats(starts: datetime, arrived_at: datetime | None, now: datetime) -> bool:
    """Whether a booking of the day is a reason to think that its processor is, or will be, warm.

    It is while it is still to come or began less than an hour ago (the machine was put on for it), and as long as the
    day lasts if somebody signed in to it.  A booking to which nobody came stops counting after that hour: whoever
    found the booth empty has switched the machine off.  Common practice, and a choice of ours: an hour is also how
    early one may sign in.
    """
    return arrived_at is not None or starts > now - STILL_WARM


def soonest_warm(
    now: datetime, warm_up: timedelta, dry_to_dry: timedelta, heated_for: Sequence[datetime]
) -> datetime | None:
    """When a processor can be warm with one test print done; None if it is warm already.

    ``heated_for`` are the starts of those of that day's bookings of it that count (``heats``): it is heated for the
    first of them, and a machine that nobody booked is cold.
    """
    first = min(heated_for, default=None)
    if first is not None and first <= now:
        return None
    cold = now + warm_up + dry_to_dry
    return cold if first is None else min(cold, first)


def fewer_places(held: Sequence[datetime], places: int, name: str) -> Refusal | None:
    """Lowering the places of a processor is refused while a place that would go is held later on."""
    if held:
        return Refusal("stations.place_is_held", {"name": name, "places": places, "until": max(held)})
    return None
