"""What is out of service and what does not work: what is said when something of it cannot be, and what things are
called."""

from __future__ import annotations

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from studiodesk.words import Words, register

register(
    {
        "bookings.not_closed": Words(_("%(name)s is not out of service then."), ""),
        "bookings.outage_over": Words(_("That is in service again already."), ""),
        "bookings.not_yours_to_close": Words(
            _("Only a keyholder or staff may take something out of service."), _("Tell the desk.")
        ),
        "bookings.not_yours_to_move": Words(
            _("Only a keyholder or staff may move the bookings of others."), _("Tell the desk.")
        ),
        "bookings.nothing_to_close": Words(_("Nothing was chosen."), _("Choose what is to be out of service.")),
        "bookings.nothing_needs_it": Words(
            _("No station and no processor says that it needs %(name)s."),
            _("Choose the stations and processors one by one."),
        ),
        "bookings.not_hit": Words(
            _("Nothing stands in the way of this booking any more: somebody settled it meanwhile."), ""
        ),
        "bookings.still_hit": Words(
            _("Something is out of service there too at that time."), _("Choose another place or time.")
        ),
        "bookings.no_move": Words(
            _("Nothing that does the same is free within the next days."),
            _("Look for another time with them, or cancel it for them."),
        ),
        "bookings.nobody_reports": Words(_("Log in to report a fault, or use the tablet."), ""),
    }
)

KINDS = {
    "lamp": _("Lamp or light"),
    "timer": _("Timer or meter"),
    "focus": _("Focus, column or lens"),
    "jam": _("Jam, or paper stuck"),
    "leak": _("Leak or spill"),
    "fumes": _("Smell or fumes"),
    "electric": _("Sparks, heat or a shock"),
    "other": _("Something else"),
}

#: The usual cautions; the house's plan and the data sheets come first.
DANGER = _(
    "Leave it as it is. Switch it off only if you can do so without going near the danger. Get away from it, take "
    "others with you, and tell the keyholder. If somebody is in danger, call the local emergency number. The house's "
    "own emergency plan and the supplier's safety data sheet come before anything this page says."
)

CAUSES = {
    "closure": _("Closed"),
    "fault": _("Fault"),
    "bath change": _("Bath change"),
    "service": _("Service off"),
}


def fault_words(kind: str, more: str = "") -> str:
    """What somebody said is wrong, as a person reads it: "Lamp or light: flickers"."""
    if kind == "other" and more:
        return more
    word = str(KINDS[kind])
    return gettext("%(kind)s: %(more)s") % {"kind": word, "more": more} if more else word
