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
        "people.key_code_taken": Words(
            _("There is a key or fob %(key)s already."), _("Give this one another name, for instance %(key)s-2.")
        ),
        "people.key_is_out": Words(
            _("%(key)s is with %(name)s since %(since)s."), _("Take it back first, or say that it is lost.")
        ),
        "people.key_is_lost": Words(
            _("%(key)s was reported lost on %(since)s."), _("If it has turned up, say so on its page first.")
        ),
        "people.key_is_given_up": Words(
            _("%(key)s is not in use any more since %(since)s."), _("Take it into use again on its page first.")
        ),
        "people.key_for_nobody": Words(
            _("%(name)s has left, so no key is handed to them."), _("Mark them as here again first.")
        ),
        "people.tablet_revoked": Words(_("%(name)s was taken out of use."), _("Add it as a new tablet.")),
        "people.plans_are_the_managers": Words(
            _("Only a manager says which memberships there are."), _("Ask a manager to do it.")
        ),
        "people.plan_code_taken": Words(
            _("There is a membership with the code “%(of)s” already."), _("Take another code.")
        ),
        "people.plan_name_taken": Words(
            _("There is a membership “%(name)s” already."), _("Give this one another name.")
        ),
        "people.plan_is_sold": Words(
            _("Somebody has “%(name)s” already, so it stays what it is."), _("Make another one instead.")
        ),
        "people.plan_not_in_use": Words(
            _("This membership is no longer given to anybody."), _("Choose another, or put it in use again first.")
        ),
        "people.membership_ends_first": Words(
            _("The last day, %(last)s, comes before the first, %(first)s."), _("Look at both days again.")
        ),
        "people.day_pass_is_a_day": Words(
            _("A day pass is for one day."), _("Give the same day twice, or no last day.")
        ),
        "people.has_left": Words(
            _("%(name)s has left, so nothing is given to them."), _("Mark them as here again first.")
        ),
        "people.membership_overlaps": Words(
            _("%(name)s has “%(plan)s” from %(first)s to %(last)s, and one person has one membership at a time."),
            _("Choose days before or after it, or end that one first."),
        ),
        "people.membership_goes_on": Words(
            _("%(name)s has “%(plan)s” from %(first)s on without an end, and one person has one membership at a time."),
            _("Say on which day that one ends first."),
        ),
        "people.membership_is_over": Words(
            _("This membership ends on %(last)s already."), _("A longer one is given as a new membership.")
        ),
        "people.membership_has_run": Words(
            _("This membership has been running since %(first)s, so it is ended, not taken back."),
            _("Say on which day it ends."),
        ),
        "people.not_about_others": Words(
            _("Only they themselves or staff write down whom to call."), _("Ask a member of staff at the desk.")
        ),
        "people.birthday_stands": Words(
            _("A birthday that was written down is changed by staff only."), _("Ask a member of staff at the desk.")
        ),
        "people.no_phone_number": Words(
            _("“%(number)s” is not a telephone number."), _("Write digits, with a + before the code of a country.")
        ),
        "people.call_needs_both": Words(
            _("To call somebody in an emergency both a name and a number are needed."), _("Fill in both, or neither.")
        ),
        "people.not_a_birthday": Words(_("Nobody here was born on %(day)s."), _("Look at the year again.")),
    }
)
