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

#: Topic of letters → what it is called, and which letters are meant.
TOPIC_WORDS = {
    "confirmations": (_("Confirmations"), _("what you booked or cancelled, with a file for your calendar")),
    "changes": (_("Changes"), _("what you changed of a booking, as it was and as it is now")),
    "reminders": (_("Reminders"), _("before a booking begins")),
    "offers": (_("Offers that ran out"), _("a time was kept for you and went to somebody else")),
    "visits": (_("When you did not come"), _("the rest of your time was given back")),
    "membership": (_("Membership and sign-offs"), _("your membership ends soon; you were signed off for something")),
    "shifts": (_("Shifts and faults"), _("uncovered shifts, shifts given back or to swap, things that do not work")),
    "alerts": (_("Alerts"), _("each thing of the chemistry that wants doing, once; only if you tick this")),
}

#: What comes always, as a list on the page where the others are chosen.
ALWAYS_WORDS = [
    _("The house cancels or moves a booking of yours, or is closed in its time."),
    _("What you booked is out of service, or somebody still sits at your station."),
    _("A time is offered to you and kept until you answer."),
    _("A sign-off of yours is taken back."),
    _("An invitation, and the link for a new password that you asked for."),
]
#: And for whoever may hold a shift.
ALWAYS_OF_THE_HOUSE_WORDS = [_("A shift of yours is given to you, moved, taken over or called off.")]
