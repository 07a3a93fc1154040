"""The rules of the house: why one cannot be set, and its number in words."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

from django.utils.functional import Promise
from django.utils.translation import gettext, ngettext, ngettext_lazy
from django.utils.translation import gettext_lazy as _

from studiodesk.dates import clock_of_minutes
from studiodesk.words import Words, length_words, register

register(
    {
        "bookings.rules_are_the_managers": Words(
            _("Only a manager sets the rules of the house."), _("Tell a manager what should change.")
        ),
        "bookings.rule_unknown": Words(
            _("There is no rule “%(code)s”."), _("Choose one of the rules that stand on the page of rules.")
        ),
        "bookings.rule_for_everybody": Words(
            _("This rule is the same for everybody; a membership cannot have its own."), _("Set it for everybody.")
        ),
        "bookings.rule_needs_a_number": Words(
            _("This rule cannot be without a number."), _("Give one from %(least)s to %(most)s.")
        ),
        "bookings.rule_out_of_range": Words(
            _("This rule cannot be %(value)s."), _("Give a number from %(least)s to %(most)s.")
        ),
        "bookings.rule_in_the_past": Words(
            _("A rule holds from today, %(today)s, or later: what was booked before keeps its own."),
            _("Choose today or a later day."),
        ),
    }
)

Counted = Callable[[int], str]


def counted(lazy: Promise, *, zero: str | Promise = "") -> Counted:
    """A sentence in the singular or plural; its own for 0 where that means something else."""
    return lambda n: str(zero) if n == 0 and zero else str(lazy % {"n": n})


def yes_or_no(yes: str | Promise, no: str | Promise) -> Counted:
    return lambda n: str(yes if n else no)


def lasting(sentence: str | Promise, *, zero: str | Promise = "") -> Counted:
    """Minutes as a length."""
    return lambda n: str(zero) if n == 0 and zero else str(sentence) % {"length": length_words(timedelta(minutes=n))}


def at_clock(sentence: str | Promise) -> Counted:
    return lambda n: str(sentence) % {"at": clock_of_minutes(n)}


def on_days(sentence: str | Promise, none: str | Promise) -> Counted:
    return lambda n: str(sentence) % {"days": weekday_words(n)} if n else str(none)


WEEKDAYS = (
    _("Monday"),
    _("Tuesday"),
    _("Wednesday"),
    _("Thursday"),
    _("Friday"),
    _("Saturday"),
    _("Sunday"),
)


def weekday_words(bits: int) -> str:
    """ "Friday and Saturday" of 48: a bit for each day, Monday is 1."""
    if bits == 127:
        return gettext("every day")
    days = [str(day) for number, day in enumerate(WEEKDAYS) if bits & (1 << number)]
    if len(days) < 2:
        return "".join(days) or gettext("no day")
    return gettext("%(days)s and %(last)s") % {"days": ", ".join(days[:-1]), "last": days[-1]}


#: A number of a rule by what it is counted in.
AMOUNTS: dict[str, Counted] = {
    "hours": counted(ngettext_lazy("%(n)d hour", "%(n)d hours", "n")),
    "days": counted(ngettext_lazy("%(n)d day", "%(n)d days", "n")),
    "minutes": lambda n: length_words(timedelta(minutes=n)),
    "years": counted(ngettext_lazy("%(n)d year", "%(n)d years", "n")),
    "people": lambda n: ngettext("%(n)d person", "%(n)d people", n) % {"n": n} if n else gettext("nobody"),
    "bookings": counted(ngettext_lazy("%(n)d booking", "%(n)d bookings", "n")),
    "times": counted(ngettext_lazy("%(n)d time", "%(n)d times", "n")),
    "clock": clock_of_minutes,
    "weekdays": weekday_words,
    "yes": yes_or_no(_("yes"), _("no")),
}


#: What a table shows in place of "no limit" where nothing is limited.
NEVER = {"strikes": _("never"), "no_show_minutes": _("never"), "reminder_hours": _("none")}


def amount_words(code: str, unit: str, value: int | None) -> str:
    """A rule's number as a table shows it: "12 hours", "17:00", "Friday and Saturday", "no limit"."""
    return str(NEVER.get(code, _("no limit"))) if value is None else AMOUNTS[unit](value)
