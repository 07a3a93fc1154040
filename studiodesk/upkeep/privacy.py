"""What happens to everything that has to do with a person: three tables, one row for every model with such a link.

A link may be direct (a foreign key to ``Member``), indirect (a hold belongs to a booking, which belongs to a member) or
one that no foreign key shows (a session, a journal entry's facts).  A model with a link that is missing from one of the
tables fails a test.  The commands that export, erase and forget read these tables and add nothing of their own.
"""

from __future__ import annotations

from django.apps import apps
from django.contrib.auth import get_user_model
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

#: Models that hold something of a person although no foreign key says so.
WITHOUT_A_KEY = frozenset({"sessions.Session", "studiodesk.GivenAnswer"})

#: What a person is given who asks for a copy of what is kept of them.
EXPORT: dict[str, str | Promise] = {
    "studiodesk.Member": _("All but the password: number, name, address, day of joining, roles, last log-in."),
    "studiodesk.Tablet": _("The tablets that this person enrolled: name and moments, no secret."),
    "studiodesk.Booking": _("Every booking with its times, station and process, cancelled ones too."),
    "studiodesk.Hold": _("Nothing more than the booking says: its set-up and clear-up."),
    "studiodesk.ZoneHold": _("Nothing more than the booking says: the light it asked for."),
    "studiodesk.Feed": _("The sheets logged for this person or their bookings, and those they logged for others."),
    "studiodesk.BathEntry": _("What this person wrote into the books of the baths."),
    "studiodesk.BathAlert": _("Which alerts were cleared by such an entry; nothing else of the person."),
    "studiodesk.SafetyNote": _("The notes this person published, by title and version."),
    "studiodesk.SafetyAcknowledgement": _("Which version of which note they acknowledged, and when."),
    "studiodesk.Entry": _("The entries that this person made, and those about them or their bookings."),
    "studiodesk.Notice": _("What they were to be told and when it was sent."),
    "studiodesk.GivenAnswer": _("Nothing: a key and a short answer that repeats what the booking or sheets say."),
    "admin.LogEntry": _("Nothing is ever written there: the back office only reads."),
    "sessions.Session": _("That they are logged in and since when; the contents are signed and hold nothing else."),
}

#: What is done when a person is erased.  The studio's own counts stay true: what went through a bath went through it.
ERASE: dict[str, str | Promise] = {
    "studiodesk.Member": _("Name, address and number give way to “former member” and a random number; no log-in."),
    "studiodesk.Tablet": _("Kept; who enrolled it then reads “former member”."),
    "studiodesk.Booking": _("Bookings to come are cancelled; past ones stay, as those of a former member."),
    "studiodesk.Hold": _("Those of bookings to come go with the cancelling; past ones stay."),
    "studiodesk.ZoneHold": _("Those of bookings to come go with the cancelling; past ones stay."),
    "studiodesk.Feed": _("Kept: the sums of the baths rest on it; it names the former member only by a row number."),
    "studiodesk.BathEntry": _("Kept, as a former member’s; a note that names a person is rewritten by staff."),
    "studiodesk.BathAlert": _("Kept: it names no person."),
    "studiodesk.SafetyNote": _("Kept: a note belongs to the house; who published it reads “former member”."),
    "studiodesk.SafetyAcknowledgement": _("Kept, as a former member’s: who was warned of what may have to be shown."),
    "studiodesk.Entry": _("Kept: an entry holds codes, ids and numbers, and its id now leads to a former member."),
    "studiodesk.Notice": _("Waiting ones are given up; sent ones stay, with no text in them."),
    "studiodesk.GivenAnswer": _("Deleted at once."),
    "admin.LogEntry": _("Nothing is there; a row found there is deleted."),
    "sessions.Session": _("Deleted at once: they are logged out everywhere."),
}

#: How long it is kept when nobody asks.
RETENTION: dict[str, str | Promise] = {
    "studiodesk.Member": _("Two years after the last booking of somebody who is no longer active; then erased."),
    "studiodesk.Tablet": _("Two years after it was revoked."),
    "studiodesk.Booking": _("Seven years, then only its station and times, without the member."),
    "studiodesk.Hold": _("Two years after it ended."),
    "studiodesk.ZoneHold": _("Two years after it ended."),
    "studiodesk.Feed": _("As long as the studio; after seven years without the member."),
    "studiodesk.BathEntry": _("As long as the studio; after seven years without who wrote it."),
    "studiodesk.BathAlert": _("Two years after it was cleared."),
    "studiodesk.SafetyNote": _("As long as the studio: what was said in which version."),
    "studiodesk.SafetyAcknowledgement": _("Ten years: work with chemicals can make itself felt late."),
    "studiodesk.Entry": _("Seven years; only retention opens the gate through which an entry can go."),
    "studiodesk.Notice": _("Ninety days after it was sent or given up."),
    "studiodesk.GivenAnswer": _("Seven days."),
    "admin.LogEntry": _("Nothing is there to keep."),
    "sessions.Session": _("Until it ends: 14 days, 12 hours for staff."),
}

TABLES = {"export": EXPORT, "erase": ERASE, "retention": RETENTION}


def models_with_a_person() -> dict[str, str]:
    """Label of every installed model that leads to a person → by which field it does (itself: "")."""
    found = {get_user_model()._meta.label: ""}
    found |= dict.fromkeys(WITHOUT_A_KEY, "no foreign key")
    growing = True
    while growing:
        growing = False
        for model in apps.get_models():
            if model._meta.label in found:
                continue
            for field in model._meta.get_fields():
                other = field.related_model if field.concrete and field.is_relation else None
                if isinstance(other, type) and other._meta.label in found:
                    found[model._meta.label] = field.name
                    growing = True
                    break
    return found
