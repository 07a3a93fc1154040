"""The one sentence that staff read first, and what stands behind its short form.

``row`` is a kept forecast or anything with its fields; ``today`` the studio's local day on which it is read.  A chance
is said as a frequency ("4 times in 5"), never in percent.  The range from P10 to P90 holds 4 times in 5.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.utils.timezone import localtime
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from .days import area_words, between, day_words, figure, near_words, plain_day, times

HORIZON_WEEKS = 17  # whole weeks in the 120 days that a forecast looks ahead
FOUR_WEEKS = 28  # the place in a course of the day four weeks from today
WATCHED = 28  # days in which nothing went through it: that is known of it then, and no guess
SURE = 0.95  # from here on the one cause stands for all


def four_weeks_mm2(row: Any) -> float | None:
    """What is expected to go through until the day four weeks from today is over, mm²."""
    told = getattr(row, "in_four_weeks_mm2", None)  # as ``queries.latest`` reads it, without the whole course
    if told is None and len(row.course) > FOUR_WEEKS:
        told = row.course[FOUR_WEEKS][0]
    return told


def is_limited(row: Any, limited: bool | None = None) -> bool:
    """Whether a limit is set: as whoever asks knows it, else as the row tells."""
    return bool(row.first_limit or row.nearest or row.age_ends_at) if limited is None else limited


def reached(row: Any) -> bool:
    """A limit was passed already when this was foretold: the row names it and leaves no room before it."""
    return bool(row.nearest) and row.room_mm2 is None


def by_age(row: Any) -> float | None:
    """How much of the chance of an end is age's, 0 to 1; ``None`` where no limit is likely to be reached at all."""
    whole = sum(row.first_limit.values())
    return row.first_limit.get("age", 0) / whole if whole > 0.005 else None


def is_age_alone(row: Any) -> bool:
    share = by_age(row)
    return row.p10 is not None and row.p10 == row.p90 and share is not None and share >= SURE


def age_day(row: Any) -> date | None:
    """The studio's local day on which its age ends it, whatever is printed."""
    return localtime(row.age_ends_at).date() if row.age_ends_at else None


def is_age_at_the_latest(row: Any) -> bool:
    """Most often age ends it, on a day that is known, and use may do so before: the middle and the late end are one."""
    share = by_age(row)
    if share is None or share < 0.5 or row.p10 is None or row.p10 == row.p90:
        return False
    return row.p50 is not None and row.p50 == row.p90 == age_day(row)


def cause(row: Any) -> str:
    """ "by use, not by age", "by use 7 times in 10, else by age"; "" where no limit is likely to be reached."""
    share = by_age(row)
    if share is None:
        return ""
    if share <= 1 - SURE:
        return _("by use, not by age") if row.age_ends_at else _("by use")
    if share >= SURE:
        return _("by age, not by use") if row.nearest else _("by age")
    if round(share * 10) == 5:
        return _("as likely by use as by age")
    if share < 0.5:
        return _("by use %(times)s, else by age") % {"times": times(1 - share)}
    return _("by age %(times)s, else by use") % {"times": times(share)}


def hours_words(seconds: int) -> str:
    """ "62 booked hours" """
    if not seconds:
        return _("no booked hours")
    hours = max(1, round(seconds / 3600))
    return ngettext("%(hours)s booked hour", "%(hours)s booked hours", hours) % {"hours": figure(hours, 0)}


def is_a_guess(row: Any) -> bool:
    """Nothing went through it that could tell how it is used, and it has not stood idle for long either."""
    return not row.history_sessions and not row.loose_days and row.watched_days < WATCHED


def basis(row: Any) -> str:
    """What it rests on: "based on 62 booked hours and 41 past sessions"; for a bath without a past, that it guesses."""
    if not row.history_sessions and row.loose_days:
        loose = ngettext(
            "the sheets of %(count)s day without a booking",
            "the sheets of %(count)s days without a booking",
            row.loose_days,
        ) % {"count": figure(row.loose_days, 0)}
        return _("based on %(booked)s and %(past)s") % {"booked": hours_words(row.booked_s), "past": loose}
    if not row.history_sessions and row.watched_days >= WATCHED:
        weeks = row.watched_days // 7
        idle = ngettext("no session in the last %(weeks)d week", "no session in the last %(weeks)d weeks", weeks)
        return idle % {"weeks": weeks}
    if is_a_guess(row):
        unknown = _("no past session tells yet how it is used")
        return unknown if is_age_alone(row) else _("a wide guess: %(unknown)s") % {"unknown": unknown}
    past = ngettext("%(count)s past session", "%(count)s past sessions", row.history_sessions) % {
        "count": figure(row.history_sessions, 0)
    }
    return _("based on %(booked)s and %(past)s") % {"booked": hours_words(row.booked_s), "past": past}


def overdue(row: Any, today: date) -> bool:
    """The latest day that was foretold is over, and nobody has reckoned since."""
    return row.p90 is not None and row.p90 < today


def three(row: Any, today: date) -> tuple[date | None, ...]:
    """P10, P50 and P90; what lies behind is from today on, for it has not come yet."""
    return tuple(day if day is None else max(day, today) for day in (row.p10, row.p50, row.p90))


def _when(row: Any, name: str, today: date) -> tuple[str, str]:
    """The first part of the sentence, what and when, and the second, how sure that is."""
    if overdue(row, today):
        said = _("%(name)s was to be spent by %(day)s and is not: reckon again")
        return said % {"name": name, "day": plain_day(row.p90, today)}, ""
    p10, p50, p90 = three(row, today)
    weeks = {"name": name, "weeks": HORIZON_WEEKS}
    if p10 is None:
        return _("%(name)s will last the next %(weeks)d weeks, at least 9 times in 10") % weeks, ""
    if p50 is None:
        said = _("%(name)s will not be spent before %(day)s, 9 times in 10")
        beyond = _("more likely not within the next %(weeks)d weeks than within them")
        return f"{said % {'name': name, 'day': plain_day(p10, today)}}; {beyond % weeks}", ""
    near = near_words(p50, today)
    named = {"name": name, "day": day_words(p50, today)}
    if is_age_at_the_latest(row):
        latest = (
            _("%(name)s will be too old %(day)s") if near else _("%(name)s will be too old on %(day)s at the latest")
        )
        before = _("%(times)s spent by use before") % {"times": times(1 - (by_age(row) or 0))}
        return latest % named, before
    if p10 == p50 == p90:
        if is_age_alone(row):
            said = _("%(name)s will be too old %(day)s") if near else _("%(name)s will be too old on %(day)s")
        else:
            said = _("%(name)s will be spent %(day)s") if near else _("%(name)s will be spent on %(day)s")
        return said % named, ""
    main = (_("%(name)s will probably be spent %(day)s") if near else _("%(name)s will be spent about %(day)s")) % named
    return main, how_sure(p10, p90, today)


def how_sure(p10: date, p90: date | None, today: date) -> str:
    """The range: "4 times in 5 between 6 and 21 March"."""
    if p90 is None:
        said = _("9 times in 10 not before %(day)s, and perhaps not within the next %(weeks)d weeks")
        return said % {"day": plain_day(p10, today), "weeks": HORIZON_WEEKS}
    return _("4 times in 5 %(range)s") % {"range": between(p10, p90, today)}


def _made(row: Any, today: date) -> str:
    """On which day it was foretold, where that is not the last one."""
    if row.day >= today - timedelta(days=1):
        return ""
    return _("reckoned on %(day)s") % {"day": plain_day(row.day, today)}


def _joined(*parts: str) -> str:
    return "; ".join(part for part in parts if part) + "."


def sentence(
    row: Any, name: str, today: date, *, spent: bool = False, limited: bool | None = None, undated: bool = False
) -> str:
    """The one sentence that staff read first.

    ``spent``: the bath has reached a limit by now, whatever was foretold.  ``limited``: a limit is set for it, even if
    no use and no age will ever reach it (``None``: as the row tells).  ``undated``: it has an age limit, and nobody
    wrote down when it was filled.

    "Colour developer will be spent about Thursday 12 March; 4 times in 5 between 6 and 21 March; by use, not by age;
    based on 62 booked hours and 41 past sessions."
    """
    if spent or reached(row):
        return _("%(name)s has reached its limit.") % {"name": name}
    if not is_limited(row, limited):
        unknown = _("Nobody wrote down when %(name)s was filled, so its age is not known")
        what = (unknown if undated else _("No limit is set for %(name)s")) % {"name": name}
        return _joined(what, _expected(row), basis(row), _made(row, today))
    why = "" if not row.p10 or overdue(row, today) or is_age_at_the_latest(row) else cause(row)
    return _joined(*_when(row, name, today), why, basis(row), _made(row, today))


def rest(row: Any, today: date, *, limited: bool | None = None, undated: bool = False) -> str:
    """What stands behind ``lead`` in place of the sentence: how sure it is and what it rests on.

    "4 times in 5 between 6 and 21 March; based on 62 booked hours and 41 past sessions."
    """
    if not is_limited(row, limited):
        return _joined(_("nobody wrote down when it was filled") if undated else "", _expected(row), basis(row))
    sure = "" if overdue(row, today) else _when(row, "", today)[1]
    if row.p50 is None:  # what the lead does not say
        sure = _("good until then 9 times in 10") if row.p10 else _("at least 9 times in 10")
    share = by_age(row)
    mixed = share is not None and 1 - SURE < share < SURE and row.p10 and not is_age_at_the_latest(row)
    return _joined(sure, cause(row) if mixed else "", basis(row), _made(row, today))


def _expected(row: Any) -> str:
    area = four_weeks_mm2(row)
    said = _("about %(area)s will go through in the next four weeks")
    return "" if area is None else said % {"area": area_words(area)}
