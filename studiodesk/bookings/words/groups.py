"""Groups: what is said when they cannot have what they need, and what stands in their way."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from studiodesk.words import Words, register

register(
    {
        "bookings.group_in_the_past": Words(_("That time has passed."), _("Choose one to come.")),
        "bookings.group_meets_itself": Words(
            _("Two of its dates lie over each other, with preparation and clear-up."), _("Choose other times.")
        ),
        "bookings.no_room_for_group": Words(
            _("On %(starts)s not everything is free that it needs; nothing was kept."),
            _("See what stands in the way, or take one of the days that fit."),
        ),
        "bookings.not_your_group": Words(
            _("Only whoever leads this group, and whoever runs the house, may say that it has left."),
            _("Tell the desk."),
        ),
        "bookings.not_its_thing": Words(_("This group does not have that any more."), _("Look at it once more.")),
        "bookings.nothing_like_it": Words(
            _("Nothing like it is free in that time."), _("Let them go on without it, or move the class.")
        ),
        "bookings.group_is_over": Words(_("That is over, or was called off."), ""),
    }
)


def clash_words(what: str, name: str, wanted: int, free: int) -> str:
    """One thing that stands in a group's way, as a sentence without its full stop."""
    if what == "closed":
        return _("The house is closed that day (%(name)s)") % {"name": name} if name else str(_("The house is closed"))
    if what == "stations":
        return ngettext(
            "%(wanted)d × %(name)s needed, %(free)d is free",
            "%(wanted)d × %(name)s needed, %(free)d are free",
            free,
        ) % {"wanted": wanted, "name": name, "free": free}
    if what == "places":
        return ngettext(
            "%(name)s: %(wanted)d place needed, %(free)d free throughout",
            "%(name)s: %(wanted)d places needed, %(free)d free throughout",
            wanted,
        ) % {"wanted": wanted, "name": name, "free": free}
    if what == "room":
        return _("%(name)s may have at most %(free)d people in it, and %(wanted)d are to come") % {
            "name": name,
            "free": free,
            "wanted": wanted,
        }
    return _("%(wanted)d people are to come, and the house has room for %(free)d more then") % {
        "wanted": wanted,
        "free": free,
    }
