"""A forecast in a few words, for a list or a table: short form, middle, range; and until when a bath is good."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.utils.translation import gettext as _

from .days import day_words, near_words, plain_day, until
from .sentences import (
    HORIZON_WEEKS,
    SURE,
    by_age,
    is_a_guess,
    is_age_alone,
    is_age_at_the_latest,
    is_limited,
    overdue,
    reached,
    three,
)


def short(row: Any, today: date, *, spent: bool = False, limited: bool | None = None) -> str:
    """The line of the desk: "about Thu 12 March (6 to 21 March), by use"."""
    return _short(row, today, spent, limited, ranged=True)


def lead(row: Any, today: date, *, spent: bool = False, limited: bool | None = None, undated: bool = False) -> str:
    """The same without its range, where ``rest`` follows: "about Thu 12 March, by use"."""
    if undated and not spent and not is_limited(row, limited):
        return _("its age is not known")
    return _short(row, today, spent, limited, ranged=False)


def _short(row: Any, today: date, spent: bool, limited: bool | None, *, ranged: bool) -> str:
    if spent or reached(row):
        return _("has reached its limit")
    if not is_limited(row, limited):
        return _("no limit is set")
    said = _short_when(row, today, ranged)
    if ranged and is_a_guess(row) and not is_age_alone(row):
        said = _("%(said)s; a wide guess") % {"said": said}
    return said


def _short_when(row: Any, today: date, ranged: bool) -> str:
    if overdue(row, today):
        return _("was to be spent by %(day)s; reckon again") % {"day": plain_day(row.p90, today)}
    p10, p50, p90 = three(row, today)
    if p10 is None:
        return _("not within the next %(weeks)d weeks") % {"weeks": HORIZON_WEEKS}
    share = by_age(row) or 0
    why = _("by use") if share <= 1 - SURE else _("by age") if share >= SURE else _("by use or age")
    if p50 is None:
        day = plain_day(p10, today)
        return _("not before %(day)s, probably not within %(weeks)d weeks") % {"day": day, "weeks": HORIZON_WEEKS}
    day, near = day_words(p50, today, long=False), near_words(p50, today)
    if is_age_at_the_latest(row):
        said = _("%(day)s, by age") if near else _("%(day)s at the latest, by age")
        return said % {"day": day}
    if p10 == p50 == p90:
        said = _("%(day)s, %(why)s") if near else _("on %(day)s, %(why)s")
        return said % {"day": day, "why": why}
    about = (_("probably %(day)s") if near else _("about %(day)s")) % {"day": day}
    if not ranged:
        return _("%(about)s, %(why)s") % {"about": about, "why": why}
    span = _("%(day)s or later") % {"day": plain_day(p10, today)} if p90 is None else until(p10, p90, today)
    return _("%(about)s (%(span)s), %(why)s") % {"about": about, "span": span, "why": why}


def middle(row: Any, today: date, *, spent: bool = False, limited: bool | None = None) -> str:
    """The middle day alone, for a table: "Thu 12 March"."""
    if spent or reached(row):
        return _("reached")
    if not is_limited(row, limited):
        return _("no limit")
    _p10, p50, _p90 = three(row, today)
    if overdue(row, today):
        return _("reckon again")
    if p50 is None:
        return _("not within %(weeks)d weeks") % {"weeks": HORIZON_WEEKS}
    return day_words(p50, today, long=False)


def dates(row: Any, today: date, *, spent: bool = False, limited: bool | None = None, near: bool = True) -> str:
    """The range alone, for a table: "6 to 21 March"; ``near``: read on that day, so that "today" can be said."""
    if spent or reached(row):
        return _("reached")
    if not is_limited(row, limited):
        return _("no limit")
    if overdue(row, today):
        return _("by %(day)s") % {"day": plain_day(row.p90, today)}
    p10, _p50, p90 = three(row, today)
    if p10 is None:
        return _("not within %(weeks)d weeks") % {"weeks": HORIZON_WEEKS}
    if p90 is None:
        return _("%(day)s or later") % {"day": plain_day(p10, today, near=near)}
    return until(p10, p90, today, near=near)


def good_words(row: Any, today: date, *, spent: bool = False) -> str:
    """Until when it is good, and how surely: of the last days before P10 and before P50 ("" where none is ahead).

    "Good through Thursday 5 March at least 9 times in 10, through Wednesday 11 March at least 1 time in 2."
    """
    if spent or reached(row) or row.p10 is None or overdue(row, today):
        return ""
    sure = row.p10 - timedelta(days=1)
    even = row.p50 - timedelta(days=1) if row.p50 else None
    said = {"sure": day_words(sure, today), "even": day_words(even, today) if even else ""}
    if even == sure or even is None:
        return _("Good through %(sure)s at least 9 times in 10.") % said if sure >= today else ""
    if sure >= today:
        return _("Good through %(sure)s at least 9 times in 10, through %(even)s at least 1 time in 2.") % said
    return _("Good through %(even)s at least 1 time in 2.") % said if even >= today else ""
