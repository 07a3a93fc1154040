"""Bookings as iCalendar (RFC 5545, RFC 7986): one VEVENT an occurrence, every time in UTC.  Pure: no Django, no clock.

There are no recurrence rules and no time zone tables in it: each occurrence of a series is an event of its own, so
every calendar program reads the same times whatever it knows of zones.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from icalendar import Calendar, Event, vText

PRODUCT = "-//studiodesk//bookings//EN"
#: How often a calendar may well look again (RFC 7986, 5.7).
REFRESH = timedelta(hours=1)
#: So long a booking that is over or cancelled stays in a calendar.
KEPT = timedelta(weeks=4)
#: How many links that work one person may have.
MOST_LINKS = 10

CONFIRMED, TENTATIVE, CANCELLED = "CONFIRMED", "TENTATIVE", "CANCELLED"
#: What a text may not hold (RFC 5545, 3.3.11 and 3.1: no CONTROL but the tab; line breaks are written as \n).
CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")
LINE_BREAK = re.compile(r"\r\n?|[\x85\u2028\u2029]")


@dataclass(frozen=True)
class Occurrence:
    """One booking as a calendar shows it; ``sequence`` is how often it was changed,
    ``modified_at`` when anything of it was last decided."""

    uid: str
    starts: datetime
    ends: datetime
    summary: str
    location: str
    description: str
    url: str
    status: str
    sequence: int
    made_at: datetime
    modified_at: datetime


def uid_of(reference: str, host: str) -> str:
    """The same as long as the booking lives, whatever becomes of it."""
    return f"booking-{reference}@{host}"


def status_of(*, cancelled_at: datetime | None, offered_until: datetime | None) -> str:
    """Cancelled, kept for somebody who has not answered yet, or booked."""
    if cancelled_at is not None:
        return CANCELLED
    return TENTATIVE if offered_until is not None else CONFIRMED


def modified(made_at: datetime, *later: datetime | None) -> datetime:
    """The latest of the moments at which a booking was made, changed or cancelled."""
    return max([made_at, *(moment for moment in later if moment is not None)])


def tidy(text: str) -> str:
    """The text without what no calendar and no feed may hold, each line break as one character."""
    return CONTROL.sub("", LINE_BREAK.sub("\n", text)).strip()


def _event(one: Occurrence, stamped: datetime | None) -> Event:
    event = Event()
    event.add("UID", one.uid)
    # Without METHOD the stamp is that of the last change, which keeps a feed the same while nothing changes; with
    # METHOD it is when this very text was written (RFC 5545, 3.8.7.2).
    event.add("DTSTAMP", (stamped or one.modified_at).astimezone(UTC))
    event.add("DTSTART", one.starts.astimezone(UTC))
    event.add("DTEND", one.ends.astimezone(UTC))
    event.add("CREATED", one.made_at.astimezone(UTC))
    event.add("LAST-MODIFIED", one.modified_at.astimezone(UTC))
    event.add("SEQUENCE", one.sequence)
    event.add("STATUS", one.status)
    event.add("TRANSP", "TRANSPARENT" if one.status == CANCELLED else "OPAQUE")
    event.add("SUMMARY", tidy(one.summary))
    event.add("LOCATION", tidy(one.location))
    event.add("DESCRIPTION", tidy(one.description))
    event.add("URL", one.url)
    return event


def publish(
    occurrences: Iterable[Occurrence], *, name: str = "", method: str = "", stamped: datetime | None = None
) -> bytes:
    """The text of a calendar: lines of at most 75 octets that end in CR LF.

    A feed has a ``name`` and says when to look again; a file in a letter has a ``method`` and when it was ``stamped``.
    """
    calendar = Calendar()
    calendar.add("PRODID", PRODUCT)
    calendar.add("VERSION", "2.0")
    calendar.add("CALSCALE", "GREGORIAN")
    if method:
        calendar.add("METHOD", method)
    if name:
        calendar.add("NAME", vText(tidy(name)))
        calendar.add("REFRESH-INTERVAL", REFRESH, parameters={"VALUE": "DURATION"})
    for one in occurrences:
        calendar.add_component(_event(one, stamped))
    return bytes(calendar.to_ical(sorted=False))
