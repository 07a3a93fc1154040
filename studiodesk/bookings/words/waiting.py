"""The waiting list: what is said when somebody cannot wait or answer any more, and what a kept time is called."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext, ngettext_lazy
from django.utils.translation import gettext_lazy as _

from studiodesk.dates import clock, clock_of_minutes, written
from studiodesk.words import Words, length_words, register

from .needs import need_words

register(
    {
        "bookings.wish_days_turned": Words(_("The last day has to come after the first."), _("Put the two right.")),
        "bookings.wish_past": Words(
            _("Nothing can become free for that any more: %(day)s has gone by, or nearly."), _("Choose a later day.")
        ),
        "bookings.wish_too_far": Words(
            _("That is too far ahead to wait for."), _("Choose a last day until %(until)s.")
        ),
        "bookings.wish_without_room": Words(
            _("%(length)s does not fit between those times, or no such day of the week lies between those days."),
            _("Allow more time, or ask for a shorter stay."),
        ),
        "bookings.wish_fits_nothing": Words(
            _("No station here is made for that, so waiting would not help."), _("Change what you want to make.")
        ),
        "bookings.wish_of_a_minor": Words(
            _("Under the age of %(age)s nothing can be kept, for each time the adult who comes along is named."),
            _("Ask the desk to tell you when something frees, and book it with the name of the adult."),
        ),
        "bookings.wished_before": Words(_("You wait for this already."), _("See what you wait for.")),
        "bookings.too_many_wishes": Words(
            ngettext_lazy(
                "You wait for %(count)s time already, which is as much as one person may wait for.",
                "You wait for %(count)s times already, which is as many as one person may wait for.",
                "count",
            ),
            _("Stop waiting for one that does not matter any more."),
        ),
        "bookings.offer_over": Words(
            _("This was kept until %(until)s, and that has gone by."),
            _("If it is still free, you can book it like anything else."),
        ),
        "bookings.offer_taken": Words(
            _("This time was taken: it is booked."), _("Cancel the booking if it is not wanted any more.")
        ),
        "bookings.offer_declined": Words(
            _("This time was given back."), _("If it is still free, you can book it like anything else.")
        ),
        "bookings.only_kept": Words(
            _("This time is only kept until %(until)s; nobody has taken it yet."), _("Take it first.")
        ),
    }
)


def until_words(until: datetime) -> str:
    """ "until Thu 26 Nov, 18:40" in the studio's zone."""
    local = timezone.localtime(until)
    return gettext("until %(at)s") % {"at": f"{written(local, 'D j M')}, {clock(local)}"}


def kept_words(until: datetime, *, yours: bool, name: str = "") -> str:
    """What a day line says beside "Yours" or "Kept"; ``name`` only for whoever may know it."""
    if yours:
        said = gettext("kept for you %(until)s")
    else:
        said = gettext("for %(name)s %(until)s") if name else gettext("for somebody %(until)s")
    return said % {"until": until_words(until), "name": name}


def also_words(need: Any) -> str:
    """What a need asks beside kind, process and length: "6×7, condenser, Tue Thu, step-free"."""
    more = [
        gettext("large format") if need.large_format else "",
        gettext("colour filters") if need.colour_filters else "",
        gettext("step-free") if need.step_free else "",
        gettext("with a friend beside") if need.beside else "",
        *(gettext("%(pieces)s × %(item)s") % {"pieces": pieces, "item": code} for code, pieces in need.kit),
    ]
    if need.bench_mm is not None:
        heights = {"low": need.bench_mm[0], "high": need.bench_mm[1]}
        more.append(gettext("a bench %(low)s to %(high)s mm high") % heights)
    size = need_words("", need.negative, need.print_mm, need.light_source, "", need.weekdays)
    return ", ".join(part for part in [size, *more] if part)


def need_line(need: Any, what: str) -> str:
    """What somebody waits for, in one line; ``what`` is the process' name or the kind of station."""
    return ", ".join(part for part in (what, length_words(need.stay), also_words(need)) if part)


def days_words(need: Any) -> str:
    """ "Thu 26 Nov, 18:00 to 22:00", "Thu 26 Nov to Sun 29 Nov, from 18:00" """
    days = [written(day, "D j M") for day in (need.first_day, need.last_day) if day is not None]
    said = days[0] if len(set(days)) == 1 else gettext("%(first)s to %(last)s") % {"first": days[0], "last": days[-1]}
    if need.not_before is None and need.not_after is None:
        return said
    if need.not_after is None:
        hours = gettext("from %(from)s") % {"from": clock_of_minutes(need.not_before or 0)}
    elif need.not_before is None:
        hours = gettext("until %(until)s") % {"until": clock_of_minutes(need.not_after)}
    else:
        hours = gettext("%(from)s to %(until)s") % {
            "from": clock_of_minutes(need.not_before),
            "until": clock_of_minutes(need.not_after),
        }
    return f"{said}, {hours}"
