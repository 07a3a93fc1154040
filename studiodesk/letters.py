"""The letters: the template ``people/letters/invited.txt`` writes ``people.invited``; its first line is the subject.

Beside it may lie ``invited.html``, the same as HTML; letters about bookings may carry a file for the calendar.
"""

import re
from typing import Any

from django.conf import settings
from django.template import TemplateDoesNotExist, loader
from django.utils import timezone
from django.utils.translation import override

from studiodesk import manner
from studiodesk.bookings import queries as bookings
from studiodesk.chemistry import queries as chemistry
from studiodesk.classes import queries as classes
from studiodesk.desk import queries as desk
from studiodesk.journal.actions import Attachment, Letter
from studiodesk.journal.models import Notice
from studiodesk.people import queries as people
from studiodesk.safety import queries as safety
from studiodesk.stations import queries as stations

#: What parts and conditions of a template leave behind: blanks at a line's end, more than one empty line.
GAPS = ((re.compile(r"[ \t]+\n"), "\n"), (re.compile(r"\n{3,}"), "\n\n"))


def _plain(text: str) -> tuple[str, str]:
    """(subject, body): the first line, and what comes after it without gaps."""
    subject, _, body = text.strip().partition("\n")
    for gap, instead in GAPS:
        body = gap.sub(instead, body)
    return " ".join(subject.split()), body.strip() + "\n"


def _html(template: str, context: dict[str, Any]) -> str | None:
    try:
        found = loader.get_template(template)
    except TemplateDoesNotExist:
        return None
    return str(found.render(context))


def render(notice: Notice, again: bool) -> Letter | None:
    """The letter that this notice stands for; None if it is no longer worth saying.

    ``again``: it may be a second copy, and says so.  The letter is of the moment at which the sweep claimed it.
    """
    area, name = notice.code.split(".")
    studio, now = stations.studio(), notice.claimed_at or notice.due_at
    context: dict[str, Any] = {
        "person": notice.person,
        "studio": studio,
        "address": settings.SITE_ADDRESS.rstrip("/"),
        "password_link": lambda: people.password_link(notice.person),
        "facts": notice.entry.facts,
        "who": notice.entry.actor,
        "shift": lambda: stations.shift(notice.entry.about_id),
        "booking": lambda: bookings.access_booking(notice.person, notice.entry.about_id),
        "membership": lambda: people.membership_of_letter(notice.person, notice.entry.about_id),
        "sign_off": lambda: safety.sign_off(notice.entry.facts.get("sign_off")),
        "group": lambda: bookings.group_of_letter(notice.entry.about_id),
        "fault": lambda: desk.Fault(bookings.fault(notice.entry.about_id)),
        "alert": lambda: chemistry.alert_line(notice.entry.about_id, now),
        "again": again,
    }
    if notice.code == "bookings.fault_reported" and bookings.fault(notice.entry.about_id).settled_at is not None:
        return None
    if notice.code == "people.membership_ends" and not people.still_ends(
        notice.entry.about_id, notice.entry.facts["last_day"]
    ):
        return None
    if notice.code == "chemistry.alert" and not chemistry.is_worth_telling(notice.entry.about_id, notice.person):
        return None
    attachments: tuple[Attachment, ...] = ()
    # A person's own language; an address is written to in the studio's.
    language = (notice.person.language if notice.person else "") or studio.language
    writes = manner.of(studio.clock, studio.units)
    with timezone.override(stations.zone(studio)), override(language), manner.override(writes):
        if area == "bookings" and notice.entry.about in bookings.LETTERS_ABOUT:
            it = bookings.letter_facts(notice, studio, now)
            if it is None:
                return None
            context["it"] = it
            if (calendar := it.file(now)) is not None:
                name_of_file = f"booking-{it.booking.reference}.ics"
                attachments = (Attachment(name_of_file, calendar, "text/calendar; charset=utf-8; method=PUBLISH"),)
        if area == "classes":
            told = classes.letter_facts(notice, studio, now)
            if told is None:
                return None
            context |= {"it": told, "person": classes.reader(notice, told)}
            if (dates := told.file()) is not None:
                name_of_file = f"class-{told.course.reference}.ics"
                attachments = (Attachment(name_of_file, dates, "text/calendar; charset=utf-8; method=PUBLISH"),)
        subject, body = _plain(loader.render_to_string(f"{area}/letters/{name}.txt", context))
        html = _html(f"{area}/letters/{name}.html", {**context, "subject": subject})
    return Letter(subject, body, html, attachments)
