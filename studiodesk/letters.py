"""The letters: the template ``people/letters/invited.txt`` writes ``people.invited``; its first line is the subject."""

from django.conf import settings
from django.template import loader
from django.utils import timezone
from django.utils.translation import override

from studiodesk.bookings import queries as bookings
from studiodesk.journal.actions import Letter
from studiodesk.journal.models import Notice
from studiodesk.people import queries as people
from studiodesk.stations import queries as stations


def render(notice: Notice, again: bool) -> Letter:
    """The letter that this notice stands for.  ``again``: it may be a second copy, and says so."""
    area, name = notice.code.split(".")
    studio = stations.studio()
    context = {
        "person": notice.person,
        "studio": studio,
        "address": settings.SITE_ADDRESS.rstrip("/"),
        "password_link": lambda: people.password_link(notice.person),
        "facts": notice.entry.facts,
        "booking": lambda: bookings.access_booking(notice.person, notice.entry.about_id),
        "again": again,
    }
    with timezone.override(stations.zone(studio)), override(settings.LANGUAGE_CODE):
        text = loader.render_to_string(f"{area}/letters/{name}.txt", context)
    subject, _, body = text.strip().partition("\n")
    return Letter(subject.strip(), body.strip() + "\n")
