"""What the letters about bookings say: the booking as it stands, as it was before, and what comes with the letter."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from studiodesk.journal.models import Notice
from studiodesk.stations.models import Station, Studio
from studiodesk.timekeeping import Span

from ..models import Booking, Series
from ..rules import telling
from ..words.calendar import moment_words
from .calendars import booking_address, calendar_file, is_dark
from .lists import access_booking
from .previews import PrintingTimes, printing_times

#: What an entry is about if its letters are about bookings.
ABOUT = frozenset({Booking._meta.model_name, Series._meta.model_name})
#: With these comes a file for the calendar, so that it shows what stands now.
WITH_FILE = frozenset(
    {
        "bookings.booked",
        "bookings.series_booked",
        "bookings.series_changed",
        "bookings.series_cancelled",
        "bookings.changed",
        "bookings.moved_by_house",
        "bookings.cancelled",
        "bookings.cancelled_by_house",
    }
)

#: Where an entry says why the house did it.  Elsewhere a reason is for the house alone: why a rule was set aside.
REASON_STANDS_IN = {
    "bookings.moved_by_house": "why",
    "bookings.cancelled_by_house": "reason",
    "bookings.hit": "reason",
    "bookings.house_closed": "reason",
}


@dataclass(frozen=True)
class Before:
    """Where and when a booking was before it was changed."""

    station: str
    starts: datetime
    ends: datetime


@dataclass(frozen=True)
class BookingLetter:
    """Everything that a letter about one booking, or one series of them, may say."""

    code: str
    booking: Booking
    all_of_it: list[Booking]
    times: PrintingTimes | None
    before: Before | None
    until: datetime | None
    reason: str
    address: str
    studio: Studio

    @property
    def is_dark(self) -> bool:
        return is_dark(self.booking)

    @property
    def until_words(self) -> str:
        """Until when it is kept, in the studio's zone."""
        return moment_words(self.until) if self.until is not None else ""

    def file(self, stamped: datetime) -> bytes | None:
        """The calendar file that comes with it; None with most."""
        if self.code not in WITH_FILE:
            return None
        return calendar_file(self.all_of_it, self.studio, stamped=stamped, method="PUBLISH")


def _moment(text: Any) -> datetime | None:
    try:
        found = datetime.fromisoformat(str(text))
    except ValueError:
        return None
    return found if found.tzinfo is not None else None


def _before(facts: Mapping[str, Any], now: Booking) -> Before | None:
    """Where and when it was, if that is not where and when it is now."""
    was = facts.get("before") or {}
    starts, ends, station = _moment(was.get("starts")), _moment(was.get("ends")), was.get("station")
    if starts is None or ends is None or (starts, ends, station) == (now.starts, now.ends, now.station_id):
        return None
    name = Station.objects.filter(pk=station).values_list("name", flat=True).first() if station else None
    return Before(name or "", starts, ends)


def _reason(code: str, facts: Mapping[str, Any]) -> str:
    """Why the house did it, in its own words."""
    return str(facts.get(REASON_STANDS_IN.get(code, "")) or "")


def _all_of(notice: Notice) -> list[Booking]:
    """The bookings that the letter is about: one, or those of a series that the entry names."""
    entry, person = notice.entry, notice.person
    if entry.about != Series._meta.model_name:
        return [access_booking(person, entry.about_id or 0)]
    these = {"pk__in": entry.facts["bookings"]} if "bookings" in entry.facts else {"series_id": entry.about_id}
    rows = Booking.objects.filter(member=person, **these)
    found = rows.select_related("member", "station", "station__zone", "process", "processor").order_by("starts", "pk")
    if not found:
        raise Booking.DoesNotExist(f"series {entry.about_id} has no booking of {person.pk}")
    return list(found)


def letter_facts(notice: Notice, studio: Studio, now: datetime) -> BookingLetter | None:
    """What this letter says; None if it is no longer worth saying at ``now``."""
    all_of_it = _all_of(notice)
    booking = all_of_it[0]
    standing = telling.Standing(
        booking.starts,
        booking.ends,
        booking.cancelled_at,
        booking.arrived_at,
        booking.offered_until,
        booking.sequence,
    )
    if not telling.is_worth_saying(notice.code, standing, notice.unique_key, now):
        return None
    facts = notice.entry.facts
    return BookingLetter(
        code=notice.code,
        booking=booking,
        all_of_it=all_of_it,
        times=printing_times(booking.processor, Span(booking.starts, booking.ends), studio),
        before=_before(facts, booking),
        until=_moment(facts.get("until")) or booking.offered_until,
        reason=_reason(notice.code, facts),
        address=booking_address(booking),
        studio=studio,
    )
