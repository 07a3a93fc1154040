from django.utils.translation import gettext_lazy as _

from studiodesk.words import Words, register

register(
    {
        "journal.no_key": Words(
            _("This form came without its key, so it could not be told from a second press of the button."),
            _("Go back, load the page again and send it once more."),
        ),
        "journal.still_running": Words(
            _("The same form was sent a moment ago and is still being worked on."),
            _("Wait a little, then look whether it is done before you send it again."),
        ),
        "journal.key_used_before": Words(
            _("This form was already sent with other details."),
            _("Load the page again and check what was kept before you send it once more."),
        ),
    }
)
