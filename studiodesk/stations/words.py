"""What is said when the house itself says no."""

from django.utils.translation import gettext_lazy as _

from studiodesk.words import Words, register

register(
    {
        "stations.place_is_held": Words(
            _("%(name)s cannot go down to %(places)s places: a place that would go is kept until %(until)s."),
            _("Lower it after that, or cancel what stands there first."),
        ),
        "stations.piece_is_held": Words(
            _("%(name)s cannot go down to %(pieces)s: a piece that would go is kept for somebody until %(until)s."),
            _("Lower it after that, or change the bookings that take it along first."),
        ),
        "stations.kit_out_of_range": Words(
            _("There can be 0 to %(pieces)s pieces, kept for up to %(minutes)s minutes before or after the end."),
            _("Give numbers within that."),
        ),
        "stations.no_studio": Words(
            _("No studio has been described yet."),
            _("Load one with: manage.py load_studio studio.toml"),
        ),
        "stations.staff_only": Words(_("Only staff may do this."), _("Ask a member of staff.")),
        "stations.no_shifts_for": Words(
            _("%(name)s cannot have shifts: they are for keyholders, tutors and staff."),
            _("Choose somebody else, or have the role given first."),
        ),
        "stations.shift_in_the_past": Words(
            _("%(starts)s is over, and shifts are planned ahead."), _("Choose a later time.")
        ),
        "stations.shift_too_long": Words(
            _("A shift lasts at most %(longest)s."), _("Add a second one for the time after it.")
        ),
        "stations.shift_taken": Words(
            _("Somebody else has taken the shift of %(starts)s already."), _("Look which shifts still have nobody.")
        ),
        "stations.shift_called_off": Words(
            _("The shift of %(starts)s was called off."), _("Staff can make it stand again.")
        ),
        "stations.shift_is_over": Words(
            _("This shift is over since %(ends)s."), _("What was noted of it stays as it is.")
        ),
        "stations.shifts_overlap": Words(
            _("%(name)s has another shift then, from %(starts)s to %(ends)s."),
            _("Give that one away first, or leave this one to somebody else."),
        ),
        "stations.shift_not_yours": Words(
            _("This shift is not yours, so only staff can change it."), _("Ask a member of staff.")
        ),
        "stations.shift_has_nobody": Words(_("Nobody has this shift."), _("Somebody has to take it first.")),
        "stations.shift_too_near": Words(
            _("A shift can be given back until 48 hours before it begins; here that was %(until)s."),
            _("Ask that somebody takes it over. Until somebody does it stays yours. If nobody can, ask staff."),
        ),
        "stations.swap_is_over": Words(
            _("This shift does not have to be taken over any more."),
            _("Somebody was quicker, or whoever has it keeps it after all."),
        ),
        "stations.swap_is_your_own": Words(
            _("This shift is yours already."), _("If you can do it after all, say that you keep it.")
        ),
        "stations.cannot_supervise": Words(
            _("%(name)s is neither a tutor nor staff, so cannot be there for beginners."),
            _("Give the shift to a tutor or one of the staff, or leave it without."),
        ),
        "stations.shift_not_yet": Words(
            _("This is possible from %(from)s, half an hour before the shift."), _("Come back then.")
        ),
        "stations.shift_has_begun": Words(
            _("This shift has begun (%(at)s)."),
            _("If somebody else goes on with it, ask staff to put them down for it."),
        ),
        "stations.shift_not_begun": Words(
            _("Nobody has said yet that this shift began."), _("Say that it began first, then that it has ended.")
        ),
        "stations.note_too_late": Words(
            _("A hand-over note can be written until a day after the shift; here that was %(until)s."),
            _("Write it with the shift that runs now, or tell whoever is there."),
        ),
        "stations.note_is_empty": Words(
            _("There is nothing in the note."), _("Write what whoever comes next should know, or leave the page.")
        ),
        "stations.job_needs_name": Words(_("A job needs a name."), _("Say in a few words what is to be done.")),
        "stations.job_days_needed": Words(
            _("A job that comes by days says after how many, 1 to 3660; others do not."),
            _("Give the number of days, or choose when else it comes."),
        ),
        "stations.job_tolerance_empty": Words(
            _("Nothing lies between these limits."), _("The lower limit comes first, the upper after it.")
        ),
        "stations.job_no_tolerance": Words(
            _("Unit and limits belong to a job that asks for a number."),
            _("Leave them empty, or let it ask for a number."),
        ),
        "stations.job_needs_processor": Words(
            _("“%(job)s” comes with the opening, closing or bath change of a processor."), _("Choose which one.")
        ),
        "stations.job_not_yours": Words(_("“%(job)s” is for others to do."), _("Ask whoever has the role for it.")),
        "stations.job_not_in_use": Words(_("“%(job)s” is not done any more."), ""),
        "stations.in_the_future": Words(_("%(at)s has not come yet."), _("Write it down when it has happened.")),
        "stations.not_opening": Words(
            _("“%(job)s” belongs to a list that nobody has begun."), _("Begin the list of the processor first.")
        ),
        "stations.job_reason_needed": Words(
            _("“%(job)s” can be left out, but not without a reason."), _("Write one line.")
        ),
        "stations.job_number_needed": Words(_("“%(job)s” asks for a number %(unit)s."), _("Write what was read.")),
        "stations.job_no_number": Words(_("“%(job)s” asks for no number."), _("Leave it empty.")),
        "stations.job_words_needed": Words(_("“%(job)s” asks for a few words."), _("Write what you found.")),
        "stations.job_taken_back": Words(_("“%(job)s” was already taken back."), ""),
        "stations.job_of_another_day": Words(
            _("“%(job)s” was written down on another day."), _("Only today's lines can be taken back.")
        ),
        "stations.house_only": Words(
            _("Only whoever looks after the house may do this."), _("Ask a keyholder or staff.")
        ),
        "stations.left_open": Words(
            _("%(processor)s was opened on %(at)s and never closed."), _("Go through its closing first.")
        ),
        "stations.closed_already": Words(_("It was closed on %(at)s."), _("Begin a new day for it.")),
        "stations.steps_open": Words(
            _("%(processor)s: still open are %(steps)s."), _("Do each step, or leave it out with a reason.")
        ),
    }
)
