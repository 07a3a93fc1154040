"""What a booking is called in a calendar, and what is said when a link to one cannot be made."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext, ngettext_lazy
from django.utils.translation import gettext_lazy as _

from studiodesk.dates import clock, written
from studiodesk.words import Words, register

register(
    {
        "bookings.too_many_links": Words(
            ngettext_lazy(
                "You have %(count)s calendar link that works, which is as many as one person may have.",
                "You have %(count)s calendar links that work, which is as many as one person may have.",
                "count",
            ),
            _("Revoke one that nobody reads any more."),
        ),
        "bookings.station_link_is_for_staff": Words(
            _("Only staff may follow the bookings of a whole station."), _("Ask a member of staff at the desk.")
        ),
    }
)

BAG = _("Paper travels in a light-tight bag that is shut before the door opens.")


def moment_words(at: datetime) -> str:
    """ "Friday 27 November 2026, 14:45" in the studio's zone."""
    local = timezone.localtime(at)
    return f"{written(local, 'l j F Y')}, {clock(local)}"


def own_summary(booking: Any) -> str:
    """The title of one's own booking.  Some calendars show what was cancelled like all else, so the word says it."""
    name = booking.station.name
    if booking.process is not None:
        name = gettext("%(station)s, %(process)s") % {"station": name, "process": booking.process.name}
    if booking.cancelled_at is not None:
        return gettext("Cancelled: %(what)s") % {"what": name}
    if booking.offered_until is not None:
        return gettext("Kept for you: %(what)s") % {"what": name}
    return name


def station_summary(booking: Any) -> str:
    """The title in a station's calendar: a number and no name."""
    said = gettext("%(station)s: booked (%(number)s)")
    if booking.cancelled_at is not None:
        said = gettext("%(station)s: cancelled (%(number)s)")
    elif booking.offered_until is not None:
        said = gettext("%(station)s: kept (%(number)s)")
    return said % {"station": booking.station.name, "number": booking.member.number}


def own_description(booking: Any, address: str, *, is_dark: bool) -> str:
    """What somebody wants to know on the way there."""
    lines = []
    if booking.cancelled_at is None and booking.offered_until is not None:
        until = moment_words(booking.offered_until)
        lines.append(gettext("Kept for you until %(until)s: say there whether you take it.") % {"until": until})
    if booking.processor is not None:
        lines.append(gettext("Place at the processor: %(processor)s") % {"processor": booking.processor.name})
    lines.append(gettext("Reference: %(reference)s") % {"reference": booking.reference})
    if is_dark and booking.cancelled_at is None:
        lines.append(str(BAG))
    return "\n".join([*lines, address])


def own_name(studio: str) -> str:
    return gettext("My bookings at %(studio)s") % {"studio": studio}


def station_name(station: str, studio: str) -> str:
    return gettext("%(station)s at %(studio)s") % {"station": station, "studio": studio}
