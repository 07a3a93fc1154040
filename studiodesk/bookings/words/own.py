"""What the rules of the house say: which rule, its numbers, and when it would be allowed."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext_lazy

from studiodesk.words import Words, register

register(
    {
        "bookings.no_membership": Words(
            _("Booking here needs a membership or a day pass, and none holds on %(day)s."),
            _("Ask the desk for one; then book."),
        ),
        "bookings.membership_ends": Words(
            _("This membership ends on %(last_day)s, and the booking would be on %(day)s."),
            _("Choose a day until then, or have the membership renewed at the desk."),
        ),
        "bookings.needs_adult": Words(
            _("Under the age of %(age)s nobody works here alone."),
            _("Give the name of the adult who comes along and stays."),
        ),
        "bookings.no_sign_off": Words(
            _("Nobody has signed this member off yet for: %(what)s. No time with supervision is planned."),
            _("Take a class that teaches it, or ask the desk."),
        ),
        "bookings.no_sign_off_yet": Words(
            _("Nobody has signed this member off yet for: %(what)s. Until then only a supervised time can be booked."),
            _("The nearest supervised time is from %(from_)s until %(until)s. A class that teaches it will do too."),
        ),
        "bookings.paused": Words(
            ngettext_lazy(
                "After %(strikes)s booking cancelled late or missed within %(days)s days, booking rests for a while.",
                "After %(strikes)s bookings cancelled late or missed within %(days)s days, booking rests for a while.",
                "strikes",
            ),
            _("It is possible again from %(until)s."),
        ),
        "bookings.too_far_ahead": Words(
            ngettext_lazy(
                "That is too far ahead: bookings are taken up to %(days)s day before.",
                "That is too far ahead: bookings are taken up to %(days)s days before.",
                "days",
            ),
            _("This day can be booked from %(from_)s."),
        ),
        "bookings.stay_too_long": Words(
            _("That is too long: with this membership the longest stay is %(longest)s."), _("Make it shorter.")
        ),
        "bookings.too_many_guests": Words(
            ngettext_lazy(
                "With this membership a booking may bring %(most)s guest at most.",
                "With this membership a booking may bring %(most)s guests at most.",
                "most",
            ),
            _("Bring fewer, or ask the desk."),
        ),
        "bookings.too_many_open": Words(
            ngettext_lazy(
                "With this membership %(most)s booking can be ahead at a time.",
                "With this membership %(most)s bookings can be ahead at a time.",
                "most",
            ),
            _("The next can be made when one is over, %(from_)s, or at once when one is cancelled."),
        ),
        "bookings.none_ahead": Words(
            _("With this membership nothing can be booked: the house's number for it is %(most)s."), _("Ask the desk.")
        ),
        "bookings.month_used_up": Words(
            _("This membership includes %(hours)s hours a month; %(used)s of it are booked, %(left)s are left."),
            _("Make it shorter, or choose a day from %(from_)s."),
        ),
        "bookings.peak_used_up": Words(
            _(
                "In the busy hours, %(opens)s to %(closes)s, this membership includes %(hours)s hours a week; "
                "%(used)s of that week are booked."
            ),
            _("Choose another time of the day, or a day from %(from_)s."),
        ),
        "bookings.not_yours_to_override": Words(_("Only staff may set a rule of the house aside."), _("Ask the desk.")),
        "bookings.kit_does_not_fit": Words(
            _("%(item)s does not go with this station or process."), _("Leave it out, or choose another station.")
        ),
        "bookings.kit_too_many": Words(
            ngettext_lazy("Of %(item)s there is %(all)s.", "Of %(item)s there are %(all)s.", "all"),
            _("Take fewer."),
        ),
        "bookings.kit_taken": Words(
            _("Of %(item)s %(left)s are free for all of that time."), _("Take fewer, or choose another time.")
        ),
    }
)
