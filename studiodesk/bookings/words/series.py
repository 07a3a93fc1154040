"""What is said of bookings that recur."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext_lazy

from studiodesk.words import Words, register

register(
    {
        "bookings.series_apart": Words(
            _("A series recurs every week, or every so many weeks up to %(most)s."), _("Choose a number from 1 on.")
        ),
        "bookings.series_ends_early": Words(
            _("The series ends before it begins, on %(first_day)s."), _("Choose a later last day.")
        ),
        "bookings.series_of_one": Words(
            _("Until that day there is only one of them."), _("Choose a last day from %(last_day)s, or book it alone.")
        ),
        "bookings.series_too_long": Words(
            ngettext_lazy(
                "That is too long: a series has %(most)s booking at most.",
                "That is too long: a series has %(most)s bookings at most.",
                "most",
            ),
            _("Choose a last day until %(last_day)s, and go on with a new series then."),
        ),
        "bookings.series_clashes": Words(
            ngettext_lazy(
                "Of %(of)s times %(count)s cannot be had, so nothing was booked or changed.",
                "Of %(of)s times %(count)s cannot be had, so nothing was booked or changed.",
                "count",
            ),
            _("Leave these out, or take another time for them: %(days)s."),
        ),
        "bookings.series_all_skipped": Words(_("Nothing is left of the series."), _("Leave fewer days out.")),
        "bookings.not_a_series": Words(_("This booking belongs to no series."), ""),
        "bookings.series_over": Words(_("Nothing of this series is still to come."), ""),
    }
)
