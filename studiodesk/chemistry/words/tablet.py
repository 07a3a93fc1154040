"""What the tablet says where no page of the server can: of what waits, what was refused, and what needs the network."""

from typing import Any

from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from studiodesk.words import Words, register

register(
    {
        "chemistry.tablet_out_of_use": Words(
            _("This tablet is out of use."), _("Tell the desk: staff can make a code for it under People, Tablets.")
        ),
        "chemistry.tablet_unreadable": Words(
            _("The tablet sent a log that cannot be read."),
            _("Enter it at the desk, and load the tablet's page again."),
        ),
        "chemistry.no_longer_listed": Words(
            _("What was tapped is no longer in the studio's list."), _("Enter these sheets at the desk.")
        ),
        "chemistry.booking_of_another_day": Words(
            _("That booking is not of the day on which these sheets went through."), _("Enter them at the desk.")
        ),
        "chemistry.paper_needed": Words(
            _("Several papers go through %(processor)s: which one was it?"), _("Enter these sheets at the desk.")
        ),
        "chemistry.log_unknown": Words(
            _("This tablet logged nothing of the kind."), _("Look at the desk's list of today's sheets.")
        ),
    }
)


def screen_words() -> dict[str, Any]:
    """Everything that the tablet's scripts say, in the language of now; a pair is for one and for more."""

    def pair(one: str, more: str) -> list[str]:
        """Scripts cannot ask gettext: they are given the singular and the plural, with their places unfilled."""
        return [ngettext(one, more, 1), ngettext(one, more, 5)]

    return {
        "sent": gettext("All logs sent"),
        "waiting": gettext("%(count)s waiting, oldest %(time)s"),
        "desk": pair("%(count)s needs the desk", "%(count)s need the desk"),
        "cannot": gettext("Cannot save: tell the desk"),
        "insecure": gettext("This tablet can't save without the network: its address is not secure"),
        "logged": gettext("Logged %(what)s at %(at)s."),
        "undone": gettext("Taken back: %(what)s."),
        "undo_refused": gettext("Not taken back: %(what)s."),
        "undo": gettext("Undo"),
        "sheets": pair("%(count)s sheet of %(size)s", "%(count)s sheets of %(size)s"),
        "away": gettext("Entered at the desk: put it away"),
        "away_sure": gettext("Tap again: it will not be sent"),
        "choose": {
            "sheet": gettext("Choose a size."),
            "paper": gettext("Choose the paper."),
            "who": gettext("Choose whose sheets these are."),
        },
        "not_kept": gettext("That was not kept: it needs the network. Do it again when the network is back."),
        "needs_network": gettext("This page needs the network"),
        "needs_network_why": gettext(
            "Signing in and out and reporting a fault wait until it is back. Sheets can be logged."
        ),
        "which": gettext("Which processor?"),
        "nothing_yet": gettext("This tablet has no list of processors yet"),
        "nothing_yet_why": gettext("Open this page once with the network; from then on it also works without."),
    }
