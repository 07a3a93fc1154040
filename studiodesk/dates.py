"""Days and times as the reader's language writes them: "Friday 27 November 2026", "Freitag, 27. November 2026".

The patterns are those of Django's ``date`` filter and are translated like any sentence; the clock is the house's.
"""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Any

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext, pgettext_lazy

from . import manner

#: What a page may ask for, in the way English writes it: translators write the same day their way.
PATTERNS = {
    "l j F Y": pgettext_lazy("how a date is written", "l j F Y"),
    "l j F": pgettext_lazy("how a date is written", "l j F"),
    "D j F": pgettext_lazy("how a date is written", "D j F"),
    "D j M": pgettext_lazy("how a date is written", "D j M"),
    "j F Y": pgettext_lazy("how a date is written", "j F Y"),
    "j F": pgettext_lazy("how a date is written", "j F"),
    "j M Y": pgettext_lazy("how a date is written", "j M Y"),
    "j M": pgettext_lazy("how a date is written", "j M"),
    "j": pgettext_lazy("how a date is written", "j"),
}


def at_studio(moment: datetime) -> datetime:
    return timezone.localtime(moment) if timezone.is_aware(moment) else moment


def written(value: date | datetime | None, pattern: str = "l j F Y") -> str:
    """A day by one of ``PATTERNS`` (else ``KeyError``); a moment is its day in the studio's zone; None is ""."""
    if value is None:
        return ""
    return date_format(at_studio(value) if isinstance(value, datetime) else value, str(PATTERNS[pattern]))


def clock(value: datetime | time | None) -> str:
    """A moment or a wall time as "14:45" in the studio's zone, or as "2:45 pm" where the house writes it so."""
    if value is None:
        return ""
    local = at_studio(value) if isinstance(value, datetime) else value
    if not manner.current().half_days:
        return f"{local.hour:02d}:{local.minute:02d}"
    hour, after_noon = manner.in_half_days(time(local.hour, local.minute))
    places: dict[str, Any] = {"hour": hour, "minute": f"{local.minute:02d}"}
    return (gettext("%(hour)s:%(minute)s pm") if after_noon else gettext("%(hour)s:%(minute)s am")) % places


def clock_of_minutes(minute: int) -> str:
    """A minute of the day; 1440, the end of it, is 24:00 or midnight."""
    if minute == 24 * 60:
        return gettext("midnight") if manner.current().half_days else "24:00"
    return clock(time(minute // 60, minute % 60))


def hour_mark(hour: int) -> str:
    """A whole hour on a scale: "14", or "2 pm"; 24 and more are those of the next day."""
    if not manner.current().half_days:
        return f"{hour:02d}"
    number, after_noon = manner.in_half_days(time(hour % 24))
    return (gettext("%(hour)s pm") if after_noon else gettext("%(hour)s am")) % {"hour": number}
