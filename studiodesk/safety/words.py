"""What is said when something about safety notes is refused."""

from django.utils.translation import gettext_lazy as _

from studiodesk.words import Words, register

register(
    {
        "safety.not_yours_to_write": Words(_("Only staff write safety notes."), _("Tell staff what is missing.")),
        "safety.newer_note": Words(
            _("The safety note of the %(name)s has changed while you were reading."),
            _("Read the note that is in force now; then say that you have read it."),
        ),
    }
)
