"""What is said at the door: who cannot come in now, and the way on."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext_lazy

from studiodesk.words import Words, register

register(
    {
        "bookings.house_full_now": Words(
            ngettext_lazy(
                "The house is full: %(inside)s in, %(coming)s to come, and room for %(heads)s person at once.",
                "The house is full: %(inside)s in, %(coming)s to come, and room for %(heads)s people at once.",
                "heads",
            ),
            _("Wait until somebody signs out, or ask staff."),
        ),
        "bookings.alone": Words(
            ngettext_lazy(
                "The house asks that at least %(least)s people are in at once; with you there would be %(inside)s.",
                "The house asks that at least %(least)s people are in at once; with you there would be %(inside)s.",
                "inside",
            ),
            _("Wait for somebody else. A keyholder or staff can let you in at the desk."),
        ),
        "bookings.walk_in_at_the_desk": Words(
            _("Whoever comes without a booking is let in at the desk."), _("Ask the desk, or find a time and book it.")
        ),
        "bookings.not_that_role": Words(
            _("Only a keyholder, a tutor or staff can be in the house without a booking of their own."),
            _("Sign them in with their booking, or let them in as a walk-in."),
        ),
        "bookings.name_needed": Words(_("A walk-in needs a name."), _("Write who comes in.")),
        "bookings.heads_needed": Words(
            _("Write how many people come in: 1 to %(most)s."), _("For a greater group write a second line.")
        ),
        "bookings.no_sheets_here": Words(_("This booking has no place at a processor, so no sheets belong to it."), ""),
        "bookings.too_late_for_sheets": Words(
            _("Sheets of this booking could be added here until %(until)s."), _("Tell the desk: they write them down.")
        ),
        "bookings.not_yours_to_let_out": Words(
            _("Only the desk can say that somebody else has left."), _("Tell the desk.")
        ),
        "bookings.unknown_answer": Words(
            _("Say that nothing was printed, or that you do not know."), _("Or add the sheets.")
        ),
    }
)
