"""What each rule of the house is called, what it says with a number, and what its number is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext_lazy

from .rules import Counted, at_clock, counted, lasting, on_days, yes_or_no


@dataclass(frozen=True)
class RuleWords:
    """``says``: what the rule says with a number, as a sentence; ``none`` the same where there is no limit.

    ``asks``: what the number is, for whoever sets it.
    """

    name: str | Promise
    asks: str | Promise
    says: Counted
    none: str | Promise = ""


RULES: dict[str, RuleWords] = {
    "membership_needed": RuleWords(
        _("Membership needed"),
        _("Whether somebody needs a membership or a day pass to book."),
        yes_or_no(
            _("To book you need a membership, or a day pass, for that day."), _("You can book without a membership.")
        ),
    ),
    "days_ahead": RuleWords(
        _("How far ahead"),
        _("How many days ahead somebody can book."),
        counted(
            ngettext_lazy("You can book up to %(n)d day ahead.", "You can book up to %(n)d days ahead.", "n"),
            zero=_("You can book for the same day only."),
        ),
        _("You can book as far ahead as you like."),
    ),
    "open_bookings": RuleWords(
        _("Bookings to come"),
        _("How many bookings to come somebody can have at once."),
        counted(
            ngettext_lazy(
                "You can have %(n)d booking to come at a time.", "You can have %(n)d bookings to come at a time.", "n"
            ),
            zero=_("You cannot book by yourself; ask at the desk."),
        ),
        _("You can have any number of bookings to come."),
    ),
    "month_hours": RuleWords(
        _("Hours in a month"),
        _("How many hours somebody can book in a calendar month."),
        counted(
            ngettext_lazy("You can book %(n)d hour in a month.", "You can book %(n)d hours in a month.", "n"),
            zero=_("No hours in a month are included."),
        ),
        _("Your hours in a month are not limited."),
    ),
    "longest_stay_minutes": RuleWords(
        _("Longest booking"),
        _("How many minutes one booking can last."),
        lasting(_("One booking can last %(length)s.")),
    ),
    "peak_days": RuleWords(
        _("Busy days"),
        _("On which days there are busy hours."),
        on_days(_("Busy days: %(days)s."), _("No day has busy hours.")),
    ),
    "peak_from": RuleWords(
        _("Busy hours begin"), _("When busy hours begin on those days."), at_clock(_("Busy hours begin at %(at)s."))
    ),
    "peak_until": RuleWords(
        _("Busy hours end"), _("When busy hours end on those days."), at_clock(_("Busy hours end at %(at)s."))
    ),
    "peak_week_hours": RuleWords(
        _("Busy hours in a week"),
        _("How many busy hours somebody can book in a week, from Monday to Sunday."),
        counted(
            ngettext_lazy("You can book %(n)d busy hour in a week.", "You can book %(n)d busy hours in a week.", "n"),
            zero=_("You cannot book busy hours."),
        ),
        _("Your busy hours in a week are not limited."),
    ),
    "free_cancel_hours": RuleWords(
        _("Cancelling in time"),
        _("How many hours before it begins a booking can be cancelled without it counting against somebody."),
        counted(
            ngettext_lazy(
                "Cancel at least %(n)d hour before a booking begins; later counts against you.",
                "Cancel at least %(n)d hours before a booking begins; later counts against you.",
                "n",
            ),
            zero=_("You can cancel until a booking begins."),
        ),
    ),
    "strikes": RuleWords(
        _("Missed bookings before a pause"),
        _("After how many bookings missed or cancelled too late somebody has to pause."),
        counted(
            ngettext_lazy(
                "After %(n)d booking missed or cancelled too late you cannot book for a while.",
                "After %(n)d bookings missed or cancelled too late you cannot book for a while.",
                "n",
            )
        ),
        _("Missed bookings never stop you from booking."),
    ),
    "strike_days": RuleWords(
        _("How long a missed booking counts"),
        _("Within how many days so many have to be missed for a pause."),
        counted(
            ngettext_lazy("A missed booking counts for %(n)d day.", "A missed booking counts for %(n)d days.", "n")
        ),
    ),
    "pause_days": RuleWords(
        _("How long a pause is"),
        _("How many days somebody cannot book then."),
        counted(ngettext_lazy("A pause lasts %(n)d day.", "A pause lasts %(n)d days.", "n")),
    ),
    "missed_hours_count": RuleWords(
        _("Missed hours"),
        _("Whether hours that were missed or cancelled too late count towards the hours in a month."),
        yes_or_no(
            _("Hours that you miss or cancel too late count towards your month."),
            _("Hours that you miss or cancel too late do not count towards your month."),
        ),
    ),
    "guests": RuleWords(
        _("Guests"),
        _("How many people somebody can bring along."),
        counted(
            ngettext_lazy("You can bring %(n)d person along.", "You can bring %(n)d people along.", "n"),
            zero=_("You cannot bring anybody along."),
        ),
    ),
    "adult_age": RuleWords(
        _("Age"),
        _("From which age somebody can be here without an adult who answers for them."),
        counted(
            ngettext_lazy(
                "Whoever is younger than %(n)d year names an adult who comes along.",
                "Whoever is younger than %(n)d years names an adult who comes along.",
                "n",
            ),
            zero=_("Nobody has to name an adult who comes along."),
        ),
    ),
    "series_bookings": RuleWords(
        _("Longest series"),
        _("How many bookings a series can have."),
        counted(ngettext_lazy("A series can have %(n)d booking.", "A series can have %(n)d bookings.", "n")),
    ),
    "least_heads": RuleWords(
        _("Being here alone"),
        _("How many people have to be in the house at least; 1 means that one may be alone."),
        counted(
            ngettext_lazy(
                "You may be in the house alone.",
                "At least %(n)d people have to be in the house at a time.",
                "n",
            )
        ),
    ),
    "no_show_minutes": RuleWords(
        _("Nobody came"),
        _("How many minutes after its beginning a booking to which nobody came is given away."),
        lasting(_("If you have not come %(length)s after the beginning, the rest of your time is given away.")),
        _("Your time stays yours even if you come late."),
    ),
    "offer_minutes": RuleWords(
        _("How long an offer stands"),
        _("How many minutes somebody on the waiting list has to take what is offered."),
        lasting(_("What the waiting list offers you is kept for you for %(length)s.")),
    ),
    "reminder_hours": RuleWords(
        _("Reminder"),
        _("How many hours before a booking a letter reminds of it."),
        counted(
            ngettext_lazy(
                "A letter reminds you %(n)d hour before a booking.",
                "A letter reminds you %(n)d hours before a booking.",
                "n",
            )
        ),
        _("No letter reminds you of a booking."),
    ),
    "overrun_minutes": RuleWords(
        _("Still here after the end"),
        _("How many minutes after the end of their booking somebody counts as still here."),
        lasting(
            _("Whoever has not left %(length)s after the end counts as still here."),
            zero=_("Whoever has not left at the end counts as still here."),
        ),
    ),
}


def rule_words(code: str, value: int | None) -> str:
    """What a rule says to whoever it holds for, as a sentence."""
    words = RULES[code]
    return str(words.none) if value is None else words.says(value)


#: Rules that say nothing while another one has this number: how long a pause is, where nobody ever has to pause.
SILENT_WHILE: dict[str, tuple[str, int | None]] = {
    "strike_days": ("strikes", None),
    "pause_days": ("strikes", None),
    "missed_hours_count": ("month_hours", None),
    "peak_from": ("peak_days", 0),
    "peak_until": ("peak_days", 0),
    "peak_week_hours": ("peak_days", 0),
}


def sentences(values: Mapping[str, int | None]) -> list[str]:
    """What holds for somebody, rule by rule in the order of ``values``; rules without effect are left out."""
    return [
        rule_words(code, value)
        for code, value in values.items()
        if code not in SILENT_WHILE or values[SILENT_WHILE[code][0]] != SILENT_WHILE[code][1]
    ]
