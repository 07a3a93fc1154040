"""The rules of the house: which there are, and which number holds for whom on which day.  Pure.

A rule is a whole number from a day on, for one membership plan or for everybody; None is "no limit".  What stands here
are the numbers of a house that has not said anything: they limit nobody.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Kind:
    """One rule: what it is counted in, its number when nobody set one, and between which numbers it may be set.

    ``unit``: "hours", "days", "minutes", "years", "people", "bookings", "times", "clock" (minutes after midnight),
    "weekdays" (a bit for each, Monday is 1) or "yes" (0 or 1).  ``may_be_none``: "no limit" is an answer.
    ``by_plan``: memberships may differ in it.
    """

    code: str
    unit: str
    default: int | None
    least: int
    most: int
    may_be_none: bool = False
    by_plan: bool = True


KINDS: tuple[Kind, ...] = (
    Kind("membership_needed", "yes", 0, 0, 1, by_plan=False),
    Kind("days_ahead", "days", None, 0, 400, may_be_none=True),
    Kind("open_bookings", "bookings", None, 0, 200, may_be_none=True),
    Kind("month_hours", "hours", None, 0, 744, may_be_none=True),
    Kind("longest_stay_minutes", "minutes", 720, 15, 720),
    Kind("peak_days", "weekdays", 0, 0, 127, by_plan=False),
    Kind("peak_from", "clock", 1020, 0, 1440, by_plan=False),
    Kind("peak_until", "clock", 1320, 0, 1440, by_plan=False),
    Kind("peak_week_hours", "hours", None, 0, 168, may_be_none=True),
    Kind("free_cancel_hours", "hours", 0, 0, 720),
    Kind("strikes", "times", None, 1, 50, may_be_none=True),
    Kind("strike_days", "days", 30, 1, 365),
    Kind("pause_days", "days", 14, 1, 365),
    Kind("missed_hours_count", "yes", 0, 0, 1),
    Kind("guests", "people", 0, 0, 20),
    Kind("adult_age", "years", 18, 0, 25, by_plan=False),
    Kind("series_bookings", "bookings", 26, 2, 200),
    Kind("least_heads", "people", 1, 1, 20, by_plan=False),
    Kind("no_show_minutes", "minutes", None, 5, 240, may_be_none=True, by_plan=False),
    Kind("offer_minutes", "minutes", 120, 5, 2880, by_plan=False),
    Kind("reminder_hours", "hours", 24, 1, 168, may_be_none=True, by_plan=False),
    Kind("overrun_minutes", "minutes", 10, 0, 120, by_plan=False),
)
BY_CODE = {kind.code: kind for kind in KINDS}


@dataclass(frozen=True)
class Row:
    """A number somebody set: ``plan`` is the plan's id, None for everybody."""

    code: str
    plan: int | None
    value: int | None
    in_force_from: date


@dataclass(frozen=True)
class HouseRules:
    """The numbers that hold for one person on one day."""

    values: dict[str, int | None]

    def limit(self, code: str) -> int | None:
        """The number, or None where there is no limit."""
        return self.values[code]

    def number(self, code: str) -> int:
        """The number of a rule that always has one."""
        value = self.values[code]
        if value is None:
            raise ValueError(f"{code} has no number")
        return value


def in_force(rows: Iterable[Row], day: date, plan: int | None = None) -> HouseRules:
    """The newest number on or before ``day`` of each rule: the plan's own, else everybody's, else the default.

    Of two rows of one day the later in ``rows`` holds (give them in the order in which they were set).
    """
    newest: dict[tuple[str, int | None], tuple[date, int | None]] = {}
    for row in rows:
        if row.in_force_from > day or row.code not in BY_CODE:
            continue
        before = newest.get((row.code, row.plan))
        if before is None or before[0] <= row.in_force_from:
            newest[row.code, row.plan] = (row.in_force_from, row.value)
    values: dict[str, int | None] = {}
    for kind in KINDS:
        own = newest.get((kind.code, plan)) if plan is not None and kind.by_plan else None
        found = own or newest.get((kind.code, None))
        values[kind.code] = kind.default if found is None else found[1]
    return HouseRules(values)
