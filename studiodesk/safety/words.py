"""What is said when something about safety notes or sign-offs is refused."""

from django.utils.translation import gettext_lazy as _

from studiodesk.words import Words, register

register(
    {
        "safety.not_yours_to_write": Words(_("Only staff write safety notes."), _("Tell staff what is missing.")),
        "safety.newer_note": Words(
            _("The safety note of the %(name)s has changed while you were reading."),
            _("Read the note that is in force now; then say that you have read it."),
        ),
        "safety.needs_are_the_managers": Words(
            _("Only a manager says what needs a sign-off."), _("Ask a manager to do it.")
        ),
        "safety.lasts_from_to": Words(
            _("A sign-off lasts from %(least)s to %(most)s days."),
            _("Leave the days empty for one that does not run out."),
        ),
        "safety.kind_or_process": Words(
            _("A sign-off is for one kind of station or for one process."), _("Choose one of the list.")
        ),
        "safety.no_such_kind": Words(_("There is no kind of station “%(kind)s” here."), _("Choose one of the list.")),
        "safety.tutors_sign_off": Words(
            _("Only tutors and staff sign people off."), _("Ask a tutor to see you at work.")
        ),
        "safety.not_for_yourself": Words(
            _("Nobody signs themselves off."), _("Ask another tutor, or a member of staff, to see you at work.")
        ),
        "safety.has_left": Words(_("Who has left is not signed off."), _("Mark them as here again first.")),
    }
)
