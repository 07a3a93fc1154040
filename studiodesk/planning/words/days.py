"""Chances as frequencies ("4 times in 5"), days and ranges of days, areas: as a forecast says them."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from studiodesk import sizes
from studiodesk.dates import written

#: The frequencies that are said, in twentieths: finer where a chance is small, near to an even one, or large.
LEVELS = (1, 2, 3, 4, 6, 8, 9, 10, 11, 12, 14, 16, 17, 18, 19)
#: The chances that the dates of a forecast stand for, in twentieths: what lies under one is never said as that one.
DATED = (2, 10, 18)


def times(chance: float) -> str:
    """A chance as a frequency: "4 times in 5", "3 times in 20"; what is rarer or surer than that is said so.

    No rounding passes 1 in 10, 1 in 2 or 9 in 10, for P10, P50 and P90 are dated by them: 0.88 is "17 times in 20".
    """
    if chance < 0.05:
        return _("under 1 time in 20")
    if chance > 0.9995:
        return _("surely")
    if chance > 0.95:
        return _("over 19 times in 20")
    level = min(LEVELS, key=lambda one: abs(one - 20 * chance))
    if level in DATED and 20 * chance < level - 1e-9:
        level = LEVELS[LEVELS.index(level) - 1]
    share = Fraction(level, 20)
    return ngettext("%(count)d time in %(of)d", "%(count)d times in %(of)d", share.numerator) % {
        "count": share.numerator,
        "of": share.denominator,
    }


def day_words(day: date, today: date, *, long: bool = True) -> str:
    """ "today", "tomorrow", "Thursday 12 March" or shorter "Thu 12 March"; the year only where it is another one."""
    if near := near_words(day, today):
        return near
    words = written(day, "l j F" if long else "D j F")
    return words if day.year == today.year else f"{words} {day.year}"


def near_words(day: date, today: date) -> str:
    return {0: _("today"), 1: _("tomorrow")}.get((day - today).days, "")


def plain_day(day: date, today: date, *, near: bool = True) -> str:
    """ "6 March", with its year where that is not this one; ``near``: "today" and "tomorrow" are said so."""
    if near and (word := near_words(day, today)):
        return word
    return written(day, "j F" if day.year == today.year else "j F Y")


def _ends(first: date, last: date, today: date, near: bool = True) -> tuple[str, str]:
    """The two ends of a range, what they share said once: ("6", "21 March")."""
    if near and (near_words(first, today) or near_words(last, today)):
        return plain_day(first, today), plain_day(last, today)
    if (first.year, first.month) == (last.year, last.month):
        return written(first, "j"), plain_day(last, today, near=near)
    if first.year == last.year:
        return written(first, "j F"), plain_day(last, today, near=near)
    return written(first, "j F Y"), written(last, "j F Y")


def between(first: date, last: date, today: date) -> str:
    """ "between 6 and 21 March" """
    if first == last:
        return (
            _("on %(day)s") % {"day": plain_day(first, today)}
            if not near_words(first, today)
            else near_words(first, today)
        )
    if (first - today).days == 0 and (last - today).days == 1:
        return _("today or tomorrow")
    one, other = _ends(first, last, today)
    return _("between %(first)s and %(last)s") % {"first": one, "last": other}


def until(first: date, last: date, today: date, *, near: bool = True) -> str:
    """ "6 to 21 March" """
    if first == last:
        return plain_day(first, today, near=near)
    if near and (first - today).days == 0 and (last - today).days == 1:
        return _("today or tomorrow")
    one, other = _ends(first, last, today, near)
    return _("%(first)s to %(last)s") % {"first": one, "last": other}


def figure(number: float, places: int) -> str:
    rounded = Decimal(number).quantize(Decimal(1).scaleb(-places))
    return str(number_format(rounded, decimal_pos=places, use_l10n=True, force_grouping=True))


def area_words(mm2: float) -> str:
    """mm² as "3.2 m²"; a tenth of a square metre (or foot) is as near as a forecast comes."""
    return sizes.area_words(mm2, 1)
