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
    }
)
