"""Times, lengths and quantities as a person reads them: gettext, the reader's number format, the studio's zone."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from studiodesk import sizes
from studiodesk.dates import at_studio, clock, written

from . import look_format

# --- times and days -----------------------------------------------------------------------------------------------


def _day(value: date) -> date:
    return at_studio(value).date() if isinstance(value, datetime) else value


def long_day(value: date) -> str:
    """ "Friday 27 November 2026" """
    return written(_day(value), "l j F Y")


def short_day(value: date) -> str:
    """ "Fri 27 Nov" """
    return written(_day(value), "D j M")


def span_words(span: Any) -> str:
    """ "14:45 to 18:00" of anything with ``starts`` and ``ends``; the day is said where the two differ."""
    starts, ends = at_studio(span.starts), at_studio(span.ends)
    if starts.date() == ends.date():
        return _("%(starts)s to %(ends)s") % {"starts": clock(starts), "ends": clock(ends)}
    if ends.time() == time() and ends.date() - starts.date() == timedelta(days=1):
        return _("%(starts)s to midnight") % {"starts": clock(starts)}
    return _("%(first)s %(starts)s to %(last)s %(ends)s") % {
        "first": short_day(starts),
        "starts": clock(starts),
        "last": short_day(ends),
        "ends": clock(ends),
    }


def length_words(value: Any) -> str:
    """A timedelta, or the length of anything with ``starts`` and ``ends``, as "3 h 15 min"."""
    length = value if isinstance(value, timedelta) else look_format.elapsed(value.starts, value.ends)
    hours, minutes = look_format.hours_and_minutes(length)
    if not hours:
        return _("%(minutes)s min") % {"minutes": minutes}
    if not minutes:
        return _("%(hours)s h") % {"hours": hours}
    return _("%(hours)s h %(minutes)s min") % {"hours": hours, "minutes": minutes}


# --- quantities ---------------------------------------------------------------------------------------------------


def _figure(number: Decimal, places: int, *, trim: bool) -> str:
    """A decimal in the reader's own way of writing, grouped, with a true minus sign."""
    if trim:
        number = number.quantize(Decimal(1)) if number == number.to_integral_value() else number.normalize()
        places = max(0, -int(number.as_tuple().exponent))
    text = number_format(abs(number), decimal_pos=places, use_l10n=True, force_grouping=True)
    return f"−{text}" if number < 0 else text


def _quantity(amount: int | None, unit: int | Decimal, places: int, pattern: str, *, trim: bool = False) -> str:
    if amount is None:
        return ""
    number = look_format.rounded(amount, unit, places)
    if amount and not number:  # never "0" of what is not nothing
        least = _figure(Decimal(1).scaleb(-places), places, trim=False)
        sign = "−" if amount < 0 else ""
        return _("under %(quantity)s") % {"quantity": pattern % {"figure": sign + least}}
    return pattern % {"figure": _figure(number, places, trim=trim)}


def ml(pl: int | None) -> str:
    """pL as "1,234.5 mL" (one decimal, dropped when it is 0)."""
    return _quantity(pl, look_format.PL_PER_ML, 1, _("%(figure)s mL"), trim=True)


def litres(pl: int | None) -> str:
    """pL as "1.25 L" (at most two decimals)."""
    return _quantity(pl, look_format.PL_PER_L, 2, _("%(figure)s L"), trim=True)


def area(mm2: int | None) -> str:
    """mm² as "2.39 m²", or "25.73 ft²" where the house writes inches."""
    return _quantity(mm2, sizes.mm2_per_unit(), 2, sizes.area_with_unit("%(figure)s"))


def percent(share: float | None) -> str:
    """0.63 as "63 %", rounded down: a limit not reached is never "100 %"."""
    if share is None:
        return ""
    if 0 < share < 0.01:
        return _("under 1 %%") % ()
    return _("%(figure)s %%") % {"figure": look_format.whole_percent(float(share))}


def decimal(value: Decimal | None) -> str:
    """A reading as it was read: 24.5, not 24.500; "" for None."""
    return "" if value is None else str(number_format(Decimal(f"{value.normalize():f}")))


def sheets_words(feed: Any) -> str:
    """ "5 × 20×25 cm / 8×10 in"; of a roll "2 × 61 cm roll, 1.5 m" """
    words = f"{feed.sheets} × {feed.sheet.label}"
    if feed.length_mm is None:
        return words
    return _("%(what)s, %(length)s") % {"what": words, "length": sizes.run_words(feed.length_mm)}
