"""What the letters about classes say: the class as it stands, the place it is about, and where its page is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.conf import settings
from django.urls import reverse

from studiodesk.bookings.models import GroupStay
from studiodesk.bookings.words.calendar import moment_words
from studiodesk.journal.models import Notice
from studiodesk.stations.models import Studio

from ..models import Course, Hire, Place
from .courses import meetings_of
from .feeds import calendar_of
from .hires import Kept, kept_for
from .places import place_key

#: What an entry is about if its letters are about classes.
ABOUT = frozenset({Course._meta.model_name, Hire._meta.model_name, Place._meta.model_name})
#: Letters to a group's contact begin so; all but one are worth saying only while it stands.
OF_HIRE, CALLED_OFF = "classes.hire", "classes.hire_called_off"
#: Letters that say that something is kept: worth saying only while it is.
WHILE = {"classes.asked": Place.State.ASKED, "classes.offered": Place.State.OFFERED}


#: With these come the dates for a calendar.
WITH_FILE = frozenset({"classes.booked", "classes.moved", "classes.called_off", "classes.you_teach", "classes.hired"})


@dataclass(frozen=True)
class Guest:
    """Somebody without an account, as far as a letter greets them."""

    name: str


@dataclass(frozen=True)
class ClassLetter:
    """Everything that a letter about a class may say.

    ``place`` None: it is to whoever teaches, or (``hire``) to a group's contact.
    """

    code: str
    course: Course
    stays: list[GroupStay]
    place: Place | None
    facts: dict[str, Any]
    studio: Studio
    hire: Hire | None = None
    #: Of a group: each of its dates with what is kept then.
    kept: tuple[tuple[GroupStay, Kept], ...] = ()

    @property
    def address(self) -> str:
        """Where the reader sees it: their own place, or the class."""
        return settings.SITE_ADDRESS.rstrip("/") + address_of(self.course, self.place)

    @property
    def until_words(self) -> str:
        """Until when the place is kept, in the studio's zone."""
        until = self.place.until if self.place is not None else None
        return moment_words(until) if until is not None else ""

    @property
    def before(self) -> list[datetime]:
        """When its dates began before they were moved."""
        told = self.facts.get("before")
        return [datetime.fromisoformat(one) for one in told] if self.code.endswith("moved") and told else []

    def file(self) -> bytes | None:
        """The dates for the reader's calendar, with the letters after which these stand otherwise; None with others."""
        return calendar_of([self.course], self.studio) if self.code in WITH_FILE else None


def address_of(course: Course, place: Place | None) -> str:
    if place is not None and place.member_id is None:
        return reverse("guest_place", args=[place_key(place)])
    if place is not None:
        return reverse("place", args=[place.pk])
    return reverse("course", args=[course.reference])


def letter_facts(notice: Notice, studio: Studio, now: datetime) -> ClassLetter | None:
    """What the letter says; None if it is no longer worth saying."""
    entry = notice.entry
    if notice.code.startswith(OF_HIRE):
        return _hire_facts(notice, studio)
    place: Place | None = None
    if entry.about == Place._meta.model_name:
        place = Place.objects.select_related("course", "member").get(pk=entry.about_id)
        course = place.course
    else:
        course = Course.objects.select_related("tutor").get(pk=entry.about_id)
        place = _place_of(notice, course)
    if place is not None and notice.code in WHILE and place.state != WHILE[notice.code]:
        return None
    stays = [meeting.stay for meeting in meetings_of(course)]
    return ClassLetter(notice.code, course, stays, place, entry.facts, studio)


def _hire_facts(notice: Notice, studio: Studio) -> ClassLetter | None:
    """Of an entry about the hire itself, or about its course."""
    entry = notice.entry
    by = "pk" if entry.about == Hire._meta.model_name else "course"
    hire = Hire.objects.select_related("course__tutor").get(**{by: entry.about_id})
    course = hire.course
    if course.is_off and notice.code != CALLED_OFF:
        return None
    stays = [meeting.stay for meeting in meetings_of(course)]
    return ClassLetter(
        notice.code, course, stays, None, entry.facts, studio, hire, tuple((stay, kept_for(stay)) for stay in stays)
    )


def _place_of(notice: Notice, course: Course) -> Place | None:
    """The reader's own place, as their letter's key names it."""
    parts = notice.unique_key.split(":")
    if len(parts) > 1 and parts[1].isdigit() and not notice.code.startswith("classes.you_teach"):
        return Place.objects.select_related("course", "member").filter(pk=int(parts[1]), course=course).first()
    return None


def reader(notice: Notice, it: ClassLetter) -> Any:
    """Whom the letter greets."""
    if notice.person is not None:
        return notice.person
    if it.hire is not None:
        return Guest(it.hire.contact_name or it.hire.organisation)
    return Guest(it.place.name if it.place is not None and it.place.name else notice.address)
