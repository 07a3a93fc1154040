"""The dates of a class: wall-clock rules, what it needs by its heads, how much paper it puts through.  Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from studiodesk.answers import Refusal
from studiodesk.timekeeping import MissingTime, Span, localise

MOST_DATES = 52


def span_on(day: date, begins: time, length: timedelta, zone: ZoneInfo) -> Span:
    """From ``begins`` on the wall clock of that day, ``length`` long by every clock.

    Raises ``MissingTime`` where the clock jumps over ``begins``; a time that happens twice is the first of the two.
    """
    starts = localise(datetime.combine(day, begins), zone, strict=True)
    return Span(starts, starts + length)


def every_weeks(first: date, weeks: int, times: int) -> list[date]:
    """``times`` days, ``weeks`` apart, from ``first`` on."""
    return [first + timedelta(weeks=weeks * number) for number in range(times)]


def days_refusal(days: Sequence[date], today: date, meetings: int) -> Refusal | None:
    """Of the days of one run: as many as the outline has dates, in order, none of them past."""
    if len(days) != meetings:
        return Refusal("classes.wrong_number_of_dates", {"dates": meetings})
    if len(days) > MOST_DATES:
        return Refusal("classes.too_many_dates", {"most": MOST_DATES})
    if len(set(days)) < len(days):
        return Refusal("classes.same_day_twice")
    return Refusal("classes.day_past", {"day": min(days)}) if min(days) < today else None


def spans(days: Iterable[date], begins: time, length: timedelta, zone: ZoneInfo) -> list[Span] | Refusal:
    """The spans of one run, or why there are none."""
    out = []
    for day in sorted(days):
        try:
            out.append(span_on(day, begins, length, zone))
        except MissingTime:
            return Refusal("classes.no_such_time", {"day": day})
    return out


def stations_for(heads: int, heads_a_station: int) -> int:
    """How many stations so many heads need: 8 heads, 2 at each, are 4; 7 are 4 as well."""
    return -(-heads // heads_a_station)


@dataclass(frozen=True)
class PaperNeed:
    """So many sheets of one size a head; mm."""

    width_mm: int
    height_mm: int
    sheets_a_head: int


def paper_area(papers: Iterable[PaperNeed], heads: int) -> int:
    """mm² that so many heads are expected to put through: heads × Σ sheets × width × height."""
    return heads * sum(one.sheets_a_head * one.width_mm * one.height_mm for one in papers)


def supervisors_needed(heads: int, heads_a_supervisor: int) -> int:
    """How many have to look after so many heads: 20 with one for every 8 are 3."""
    return -(-heads // heads_a_supervisor)
