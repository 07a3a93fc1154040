"""What entries of the journal about a person are called on their page.  The desk refuses nothing of its own."""

from datetime import date
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from studiodesk.dates import written

ENTRIES = {
    "people.made": gettext_lazy("Added"),
    "people.invited": gettext_lazy("Sent a link that sets a password"),
    "people.password_link": gettext_lazy("Asked for a new password"),
    "people.password_set": gettext_lazy("Set a password"),
    "people.roles_set": gettext_lazy("Roles changed"),
    "people.left": gettext_lazy("Left"),
    "people.came_back": gettext_lazy("Came back"),
    "people.membership_given": gettext_lazy("Given a membership"),
    "people.membership_ended": gettext_lazy("Membership ended"),
    "people.membership_taken_back": gettext_lazy("Membership taken back"),
    "people.facts_set": gettext_lazy("Telephone, birthday or whom to call changed"),
    "people.language_set": gettext_lazy("Language chosen"),
    "safety.signed_off": gettext_lazy("Signed off"),
    "safety.sign_off_revoked": gettext_lazy("Sign-off taken back"),
}
ROLES = {
    "tutor": gettext_lazy("tutor"),
    "keyholder": gettext_lazy("keyholder"),
    "staff": gettext_lazy("staff"),
    "manager": gettext_lazy("manager"),
}


def _roles(codes: list[str]) -> str:
    return ", ".join(str(ROLES.get(code, code)) for code in codes)


def entry_words(entry: Any) -> str:
    """A journal entry about a person in words; "" for one that their page does not show."""
    word = str(ENTRIES.get(entry.code, ""))
    granted, revoked = entry.facts.get("granted") or [], entry.facts.get("revoked") or []
    if granted:
        word = _("%(word)s; now also %(roles)s") % {"word": word, "roles": _roles(granted)}
    if revoked:
        word = _("%(word)s; no longer %(roles)s") % {"word": word, "roles": _roles(revoked)}
    return word


def left_words(name: str, cancelled: int) -> str:
    """What is said once somebody is marked as having left."""
    said = _("%(name)s has left, and can no longer log in.") % {"name": name}
    if cancelled:
        free = ngettext(
            "%(count)d booking was cancelled.",
            "%(count)d bookings were cancelled.",
            cancelled,
        )
        said = f"{said} {free % {'count': cancelled}}"
    return said


def called_off_words(cancelled: int) -> str:
    """What is said once a shift is called off."""
    said = _("The shift is called off.")
    if cancelled:
        gone = ngettext("%(count)d booking was cancelled.", "%(count)d bookings were cancelled.", cancelled)
        said = f"{said} {gone % {'count': cancelled}}"
    return said


def in_force_words(have_yet_to_read: int) -> str:
    """What is said once a safety note is in force."""
    said = _("The note is in force. Everybody reads it before their next booking.")
    if have_yet_to_read:
        still = ngettext(
            "%(count)d person who has booked the processor has yet to read it.",
            "%(count)d people who have booked the processor have yet to read it.",
            have_yet_to_read,
        )
        said = f"{said} {still % {'count': have_yet_to_read}}"
    return said


def _day(day: date) -> str:
    return written(day, "j F Y")


def given_words(name: str, plan: str, first: date, last: date | None) -> str:
    """What is said once somebody has a membership."""
    facts = {"name": name, "plan": plan, "first": _day(first), "last": _day(last) if last else ""}
    if last is None:
        return _("%(name)s has “%(plan)s” from %(first)s on.") % facts
    if last == first:
        return _("%(name)s has “%(plan)s” for %(first)s.") % facts
    return _("%(name)s has “%(plan)s” from %(first)s to %(last)s.") % facts


def ended_words(plan: str, last: date, booked_after: int) -> str:
    """What is said once a membership has another last day; bookings after it are not touched."""
    said = _("“%(plan)s” ends on %(last)s.") % {"plan": plan, "last": _day(last)}
    if booked_after:
        stand = ngettext(
            "%(count)d booking after that day still stands: look whether it should.",
            "%(count)d bookings after that day still stand: look whether they should.",
            booked_after,
        )
        said = f"{said} {stand % {'count': booked_after}}"
    return said


#: What is said once somebody has answered what became of their sheets.
SAID_OF_SHEETS = {
    "none": gettext_lazy("Written down: nothing was printed."),
    "unknown": gettext_lazy("Written down: nobody knows what was printed."),
}
