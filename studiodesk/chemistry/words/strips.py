"""What is said of control strips."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from studiodesk.words import Words, register

register(
    {
        "chemistry.aims_needed": Words(_("No aim was written."), _("Write the reference of one patch at least.")),
        "chemistry.strip_says_nothing": Words(
            _("The strip says nothing yet."), _("Write a reading, or choose how it looks beside its reference.")
        ),
        "chemistry.no_aim": Words(
            _("%(patch)s %(channel)s has no aim."), _("Leave it empty, or let staff write its aim first.")
        ),
        "chemistry.reading_absurd": Words(
            _("That is no density: %(patch)s %(channel)s."), _("Check the reading; most lie between 0 and 4.")
        ),
    }
)

VERDICTS = {
    "inside": _("inside its limits"),
    "past action": _("past an action limit"),
    "past control": _("past a control limit"),
}
EYES = {
    "matches": _("It matches its reference"),
    "lighter": _("Lighter"),
    "darker": _("Darker"),
    "colour cast": _("With a colour cast"),
    "stained": _("Stained"),
}
#: What is to be done, by the verdict of the last strip and the case that is open.
ADVICE = {
    "inside": _("Leave everything as it is."),
    "past action": _("Print on, and look for the cause: temperature, time, replenishment, mixing."),
    "second": _("Run a second strip now: it decides whether the processor is held."),
    "held": _("Nothing goes through. Look for the cause; a strip inside its limits lets it go again."),
}
