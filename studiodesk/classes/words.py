"""What is said when something of a class cannot be, and the way on."""

from __future__ import annotations

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from studiodesk.words import Words, register

register(
    {
        "classes.staff_write_outlines": Words(_("Only tutors and staff write course outlines."), _("Tell the desk.")),
        "classes.outline_retired": Words(
            _("No more dates are made from this outline."), _("Write a new one, or choose another.")
        ),
        "classes.outline_exists": Words(
            _("Somebody wrote an outline of this name at this very moment."),
            _("Press once more to keep yours beside it."),
        ),
        "classes.staff_plan": Words(
            _("Staff plan classes, and tutors those that they teach themselves."), _("Tell the desk.")
        ),
        "classes.tutors_evening": Words(
            _("Only whoever teaches this class, and staff, may do this."), _("Tell the desk.")
        ),
        "classes.not_its_station": Words(_("%(name)s is not kept for this class."), _("Choose one that is.")),
        "classes.choose_moves": Words(
            _("For %(name)s's booking no move was chosen, so nothing was kept."),
            _("Choose where it goes, or another day for the class."),
        ),
        "classes.not_begun": Words(_("This class has not begun."), _("Come back once it has.")),
        "classes.nobody_to_sign_off": Words(
            _("None of those who are ticked can be signed off."),
            _("Tick members who are here, and keep that first; guests have no account to be signed off on."),
        ),
        "classes.signs_nobody_off": Words(
            _("This class signs nobody off."), _("Its outline says what it signs people off for.")
        ),
        "classes.not_drop_in": Words(_("People sign up for this: tick who is here."), ""),
        "classes.more_in_than_came": Words(
            _("No more can be in than came, and at most %(most)s."), _("Correct the two numbers.")
        ),
        "classes.no_such_kind": Words(
            _("This studio has no station of the kind “%(kind)s”."), _("Choose one of the kinds that it has.")
        ),
        "classes.no_room_in_outline": Words(
            _("At least %(least)s and at most %(most)s people cannot be."),
            _("Let at least one and no more than the most be the least."),
        ),
        "classes.wrong_number_of_dates": Words(
            _("This takes %(dates)s dates."), _("Give as many days as there are dates.")
        ),
        "classes.too_many_dates": Words(
            _("At most %(most)s dates can be made at once."), _("Make the rest after these.")
        ),
        "classes.same_day_twice": Words(_("One day stands there twice."), _("Give each date a day of its own.")),
        "classes.day_past": Words(_("%(day)s has passed."), _("Choose a day to come.")),
        "classes.no_such_time": Words(
            _("On %(day)s the clock jumps over that time: it does not exist."), _("Choose another time for that day.")
        ),
        "classes.not_a_tutor": Words(_("%(name)s is no tutor."), _("Choose somebody who is, or let a manager say so.")),
        "classes.tutor_not_signed_off": Words(
            _("%(name)s is not signed off for: %(what)s."), _("Choose another tutor, or have them signed off first.")
        ),
        "classes.tutor_elsewhere": Words(
            _("%(name)s teaches “%(title)s” then, from %(starts)s."), _("Choose another tutor or another time.")
        ),
        "classes.staff_hire_out": Words(_("Only staff hire out the house."), _("Tell the desk.")),
        "classes.hire_no_heads": Words(_("A group is one person at least."), _("Say how many come.")),
        "classes.hire_no_contact": Words(
            _("Without an e-mail address nobody can be told."), _("Write the address of whoever answers for the group.")
        ),
        "classes.too_few_supervisors": Words(
            _(
                "%(heads)s people with one for every %(ratio)s need %(needed)s who look after them, "
                "and %(supervisors)s come."
            ),
            _("Ask the group to send more, or let fewer people come."),
        ),
        "classes.nothing_to_keep": Words(_("Nothing is to be kept for them."), _("Say which stations or places.")),
        "classes.too_far_ahead": Words(
            _("That is more than %(years)s years ahead."), _("Choose a day that is nearer.")
        ),
        "classes.kept_too_long": Words(
            _("More than %(days)s days in one piece are too many."), _("Keep the rest as a further one.")
        ),
        "classes.hire_off": Words(_("This was called off."), _("Enter it anew if the group comes after all.")),
        "classes.hire_has_begun": Words(
            _("The last date has begun: what is kept for it stays as it is."), _("Correct the contact alone.")
        ),
        "classes.hire_stands": Words(
            _("They are still to come: somebody has to answer for them."),
            _("Call it off first, or wait until it is over."),
        ),
        "classes.no_quote": Words(_("There is no quote that they could agree to."), _("Write the quote first.")),
        "classes.nothing_to_move": Words(_("All dates of this class have begun."), ""),
        "classes.say_why": Words(_("Say why: everybody who signed up is told."), _("Write a few words.")),
        "classes.called_off": Words(_("This class was called off."), _("Look for another date.")),
        "classes.is_over": Words(_("This class is over."), ""),
        "classes.just_come": Words(_("Nobody signs up for this: just come."), ""),
        "classes.room_is_kept": Words(_("A room is kept here: there is nothing to sign up for."), ""),
        "classes.has_begun": Words(_("This class has begun."), _("Talk to the tutor or the desk.")),
        "classes.no_heads": Words(_("A place is for one person at least."), _("Say for how many.")),
        "classes.is_a_group": Words(
            _("More than %(most)s people are a group."), _("Write to the desk: groups have terms of their own.")
        ),
        "classes.never_so_many": Words(
            _("This class takes %(most)s people."), _("Sign up for fewer, or choose another date.")
        ),
        "classes.too_young": Words(
            _("This class is for people of %(age)s years and over on its first day."), _("Choose another class.")
        ),
        "classes.needs_adult": Words(
            _("Whoever is not yet %(age)s comes with an adult."), _("Write down the name of the adult who comes along.")
        ),
        "classes.no_address": Words(_("Without an address nobody can be told."), _("Write your e-mail address.")),
        "classes.not_a_member": Words(
            _("This membership is not in use."), _("Sign up as a guest, or talk to the desk.")
        ),
        "classes.full": Words(
            _("There are not enough places: %(left)s left."),
            _("Tick that you wait in line, or choose another date."),
        ),
        "classes.place_ended": Words(
            _("This place was given back, or not confirmed in time."), _("Sign up again if there is room.")
        ),
        "classes.address_stands": Words(
            _("This place is confirmed: its address stays."), _("Give it up and sign up again, or tell the desk.")
        ),
        "classes.no_offer": Words(_("No place is kept for you at the moment."), ""),
        "classes.offer_over": Words(
            _("The place was kept until %(until)s."), _("You may still be in line: look at the class.")
        ),
        "classes.only_fewer": Words(
            _("This place is for %(heads)s people; it can only become smaller."),
            _("Sign up once more for whoever comes along."),
        ),
        "classes.not_booked": Words(_("Only a place that is yours can be passed on."), _("Confirm it first.")),
        "classes.nobody_of_that_name": Words(
            _("No member who is here has that number or address."), _("Look them up among the people.")
        ),
        "classes.has_place": Words(_("%(name)s has a place in this class already."), ""),
    }
)

#: How a place stands, as its owner reads it.
STATE_WORDS = {
    "asked": _("Not confirmed yet"),
    "waiting": _("In line"),
    "offered": _("Kept for you"),
    "booked": _("Yours"),
    "ended": _("Given back"),
}
#: The same of somebody else's place, as staff and tutors read it.
THEIR_STATE_WORDS = STATE_WORDS | {"offered": _("Offered, no answer yet"), "booked": _("Has a place")}
LEVEL_WORDS = {
    "no experience": _("No experience needed"),
    "some experience": _("Some experience"),
    "experienced": _("For experienced people"),
}


def head_words(name: str, signed_up: str, *, is_first: bool) -> str:
    """One head of a party: by name; without one whoever signed up is the first, and the others come along."""
    if name or is_first:
        return name or signed_up
    return gettext("with %(name)s") % {"name": signed_up}
