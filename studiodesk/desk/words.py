"""What entries of the journal about a person are called on their page.  The desk refuses nothing of its own."""

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

ENTRIES = {
    "people.made": gettext_lazy("Added"),
    "people.invited": gettext_lazy("Sent a link that sets a password"),
    "people.password_link": gettext_lazy("Asked for a new password"),
    "people.password_set": gettext_lazy("Set a password"),
    "people.roles_set": gettext_lazy("Roles changed"),
    "people.left": gettext_lazy("Left"),
    "people.came_back": gettext_lazy("Came back"),
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
            "%(count)d booking was cancelled; a letter says so.",
            "%(count)d bookings were cancelled; letters say so.",
            cancelled,
        )
        said = f"{said} {free % {'count': cancelled}}"
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
