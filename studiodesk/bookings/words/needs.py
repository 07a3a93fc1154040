"""What speaks for a time, and what a station misses, in a few words each."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext, pgettext_lazy
from django.utils.translation import gettext_lazy as _

from studiodesk.words import Words, register

#: Why a time is offered (``rules.ranking``).
REASONS: dict[str, str | Promise] = {
    "supervised": _("somebody is there who helps"),
    "light_source": _("the light source you wanted"),
    "step_free": _("shortest walk: step-free"),
    "takes": _("takes your negatives"),
    "prints": _("large enough for your prints"),
    "usual_day": _("your usual day"),
    "warm": _("processor already warm"),
    "same_light": _("the room has the same light already"),
    "soonest": _("the soonest of these"),
    "ready": _("processor ready when you begin"),
    "own_light": _("a light of its own"),
    "longer": _("free for an hour longer"),
    "quiet": _("hardly anybody else is in"),
    "all_asked": _("everything you asked for"),
}
#: What a station misses (``rules.needs``).
POINTS: dict[str, str | Promise] = {
    "kind": _("another kind of station"),
    "process": _("not made for this process"),
    "negative": _("no holder for this negative"),
    "large_format": _("takes no large negatives"),
    "print": _("too small for this print"),
    "feed_width": _("the print is wider than the processor takes"),
    "light_source": _("another light source"),
    "colour_filters": _("no colour filters"),
    "step_free": _("not noted as step-free"),
    "bench": _("the bench is not noted at that height"),
}
WEEKDAYS_SHORT = (
    pgettext_lazy("day of the week", "Mon"),
    pgettext_lazy("day of the week", "Tue"),
    pgettext_lazy("day of the week", "Wed"),
    pgettext_lazy("day of the week", "Thu"),
    pgettext_lazy("day of the week", "Fri"),
    pgettext_lazy("day of the week", "Sat"),
    pgettext_lazy("day of the week", "Sun"),
)

register(
    {
        "bookings.need_is_empty": Words(
            _("Say first what you want to make; there is nothing to keep yet."),
            _("Answer the questions, then keep it."),
        ),
        "bookings.changed_meanwhile": Words(
            _("This booking was changed meanwhile, in another window or by the house; it stands as you see it here."),
            _("Look at it as it is now, and change it again if you still want to."),
        ),
    }
)


def reason_words(codes: tuple[str, ...]) -> list[str]:
    return [str(REASONS[code]) for code in codes]


def point_words(points: tuple[str, ...]) -> list[str]:
    return [str(POINTS[point]) for point in points]


def need_words(
    what: str,
    negative: str,
    print_mm: tuple[int, int] | None,
    light_source: str,
    length: str,
    weekdays: tuple[int, ...],
) -> str:
    """A need in one line: "Black-and-white, RC, 6×7, 2 h, Tue Thu"."""
    size = ""
    if print_mm is not None:
        size = gettext("prints %(short)s × %(long)s mm") % {"short": print_mm[0], "long": print_mm[1]}
    days = " ".join(str(WEEKDAYS_SHORT[day]) for day in weekdays)
    parts = [what, negative, size, light_source, length, days]
    return ", ".join(part for part in parts if part)
