"""What is said when a booking cannot be, and the way on."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext_lazy

from studiodesk.words import Words, register

register(
    {
        "bookings.taken": Words(
            _("%(station)s is taken for at least part of that time, clear-up included."),
            _("See what is free near it."),
        ),
        "bookings.no_place": Words(
            _("Every place at %(processor)s is taken for part of that time: it serves %(places)s at once."),
            _("Choose another time, or make the booking shorter."),
        ),
        "bookings.light": Words(
            _("%(station)s shares the light of %(zone)s, and somebody works there in another light at that time."),
            _("Choose another time, or a booth with a light of its own."),
        ),
        "bookings.heads": Words(
            ngettext_lazy(
                "The house is full at that time: it has room for %(heads)s person at once.",
                "The house is full at that time: it has room for %(heads)s people at once.",
                "heads",
            ),
            _("Choose another time."),
        ),
        "bookings.out_of_service": Words(
            _("%(station)s is out of service for part of that time."),
            _("Choose another station or another time."),
        ),
        "bookings.processor_out_of_service": Words(
            _("%(processor)s is out of service for part of that time."),
            _("Choose another time or another process."),
        ),
        "bookings.in_the_past": Words(_("%(starts)s has gone by."), _("Choose a time from now on.")),
        "bookings.off_grid": Words(
            _("Bookings begin and end on whole steps of %(grid)s."), _("Choose the next step before or after.")
        ),
        "bookings.ends_before_it_starts": Words(_("The end has to come after the start."), _("Put the two right.")),
        "bookings.too_short": Words(_("That is too short: the shortest booking is %(shortest)s."), ""),
        "bookings.too_long": Words(
            _("That is too long: the longest booking is %(longest)s."), _("Make two bookings of it.")
        ),
        "bookings.closed": Words(
            _("The house is not open for all of that time."),
            _("The nearest opening is from %(opens)s until %(closes)s."),
        ),
        "bookings.closed_throughout": Words(
            _("The house is closed on %(starts)s and in the week after it."), _("Choose another day.")
        ),
        "bookings.no_time_to_clear_up": Words(
            _("Setting up and clearing up %(station)s have to lie within opening hours too."),
            _("Choose a time from %(from_)s until %(until)s."),
        ),
        "bookings.nothing_comes_out": Words(
            _("Nothing can be printed in that time: %(processor)s takes %(warm_up)s to warm up after opening."),
            _("Begin later, or stay longer."),
        ),
        "bookings.needs_process": Words(
            _("%(station)s is booked together with a place at a processor."), _("Say which process you will print.")
        ),
        "bookings.unknown_process_for_station": Words(
            _("%(station)s is not made for that process."), _("Choose another station or another process.")
        ),
        "bookings.no_processor": Words(_("No processor runs that process."), _("Ask the desk.")),
        "bookings.not_warm": Words(
            _("%(processor)s is cold: with warm-up and a test print it can be ready at %(warm_at)s."),
            _("Begin at that time or later."),
        ),
        "bookings.note_not_acknowledged": Words(
            _("Before you book %(processor)s you have to read its safety note as it stands now."),
            _("Read the note and say that you have; then book."),
        ),
        "bookings.not_a_member": Words(_("This person has no access any more."), _("Ask the desk.")),
        "bookings.missing_time": Words(
            _("That time does not exist on this day: the clock goes forward over it."), _("Choose an hour later.")
        ),
        "bookings.begun": Words(
            _("This booking began at %(starts)s, so it cannot be cancelled here any more."), _("Tell the desk.")
        ),
        "bookings.over": Words(_("This booking ended at %(ends)s."), _("Make a new one.")),
        "bookings.cancelled_before": Words(_("This booking was cancelled: %(at)s."), ""),
        "bookings.arrived_already": Words(
            _("The person has signed in: %(at)s."), _("Undo the sign-in first if it was a slip.")
        ),
        "bookings.left_already": Words(_("The person has signed out: %(at)s."), _("Undo the sign-out first.")),
        "bookings.not_arrived": Words(_("The person has not signed in."), _("Sign in first.")),
        "bookings.not_left": Words(_("The person has not signed out."), ""),
        "bookings.too_early": Words(_("It is too early to sign in."), _("It is possible from %(from_)s.")),
        "bookings.released_before": Words(
            _("Nobody came to this booking, so the rest of its time was given back: %(at)s."),
            _("See whether it is still free, and book it again."),
        ),
        "bookings.begun_stays": Words(
            _("This booking began at %(starts)s: its start stays as it is."),
            _("Its end and its station can still be changed."),
        ),
        "bookings.nothing_to_undo": Words(_("There is no change of yours to take back."), ""),
        "bookings.too_late_to_undo": Words(
            _("That could be taken back until %(until)s."), _("Ask the desk, or make a new booking.")
        ),
        "bookings.row_clashes": Words(
            _("%(reference)s stands on the station at the same time as %(other)s, clear-up included."), ""
        ),
        "bookings.row_without_place": Words(
            _("%(reference)s finds no place at %(processor)s: %(at_once)s at once with %(others)s, places %(places)s."),
            "",
        ),
        "bookings.row_known": Words(_("There is a booking %(reference)s already."), ""),
    }
)
