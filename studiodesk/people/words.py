"""What is said when something about people is refused."""

from django.utils.translation import gettext_lazy as _

from studiodesk.words import Words, register

register(
    {
        "people.not_yours_to_do": Words(_("Only staff may do this."), _("Ask a member of staff at the desk.")),
        "people.only_managers": Words(
            _("Only a manager changes who is staff or manager, and who of them is still here."),
            _("Ask a manager to do it."),
        ),
        "people.last_of_your_own": Words(
            _("You cannot take the manager’s role from yourself, so that the house always has one."),
            _("Another manager can do it."),
        ),
        "people.not_yourself": Words(_("You cannot mark yourself as having left."), _("Another manager can do it.")),
        "people.email_taken": Words(
            _("Somebody here already has the email address %(email)s."),
            _("Look for them in the list of people, those who left included."),
        ),
        "people.number_taken": Words(_("The number %(number)s is already somebody’s."), _("Take the next free one.")),
        "people.has_a_password": Words(
            _("%(name)s has already set a password."),
            _("If it is forgotten, “Forgotten your password?” on the log-in page sends a new link."),
        ),
        "people.not_here_any_more": Words(
            _("%(name)s has left, so no letter is sent."), _("Mark them as here again first.")
        ),
        "people.link_is_over": Words(
            _("This link was used already, or it is older than seven days."),
            _("Ask for a new one with “Forgotten your password?” on the log-in page."),
        ),
        "people.log_in_failed": Words(
            _("This email address and password do not go together."),
            _("Try again, or ask for a link that sets a new password."),
        ),
        "people.wait": Words(
            _("There were too many tries. The next one is possible from %(until)s."),
            _("If you forgot your password, ask for a link that sets a new one."),
        ),
        "people.code_unknown": Words(
            _("No tablet waits for this code, or its 30 minutes are over."),
            _("Look at the code again, or ask staff for a new one."),
        ),
        "people.tablet_name_taken": Words(
            _("There is a tablet “%(name)s” already."),
            _("Say more exactly where this one hangs, or make a new code for that one."),
        ),
        "people.tablet_revoked": Words(_("%(name)s was taken out of use."), _("Add it as a new tablet.")),
    }
)
