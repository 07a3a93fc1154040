"""What is on as Atom (RFC 4287), RSS 2.0 and iCalendar (RFC 5545): for readers and calendars, without a log-in."""

from __future__ import annotations

from hashlib import sha256
from zoneinfo import ZoneInfo

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.feedgenerator import Atom1Feed, Rss201rev2Feed, SyndicationFeed
from django.utils.html import linebreaks
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from studiodesk.bookings.rules.calendar import tidy
from studiodesk.bookings.views.calendars import MEDIA_TYPE
from studiodesk.dates import clock, written
from studiodesk.stations import queries as stations

from .. import queries
from ..models import Course
from ..queries import feeds
from .common import seen_by


def _kept(request: HttpRequest, content: bytes, media_type: str) -> HttpResponse:
    """With a name of its content, so that a reader that has it is told so in a few bytes."""
    response = HttpResponse(content, content_type=media_type)
    etag = f'"{sha256(content).hexdigest()[:32]}"'
    response["ETag"] = etag
    response["Cache-Control"] = "public, max-age=900"
    return get_conditional_response(request, etag=etag, response=response)


#: Unlike a calendar, XML 1.0 may not hold these two either (2.2, Char).
NO_CHARACTERS = str.maketrans("", "", "\ufffe\uffff")


def _plain(text: str) -> str:
    return tidy(text).translate(NO_CHARACTERS)


def _days(course: Course, zone: ZoneInfo) -> str:
    moments = [timezone.localtime(meeting.stay.starts, zone) for meeting in queries.meetings_of(course)]
    return ", ".join(f"{written(one, 'l j F Y')}, {clock(one)}" for one in moments)


def _feed(request: HttpRequest, kind: type[SyndicationFeed], here: str) -> HttpResponse:
    studio = stations.studio()
    zone, many = stations.zone(studio), feeds.shown_in_feeds(timezone.now())
    made = kind(
        title=_plain(_("What is on at %(studio)s") % {"studio": studio.name}),
        link=request.build_absolute_uri(reverse("whats_on")),
        description=_("Classes, talks and open evenings"),
        feed_url=request.build_absolute_uri(here),
        language=get_language(),
    )
    for course in many:
        title = _("Called off: %(title)s") % {"title": course.title} if course.is_off else course.title
        words = "\n\n".join(part for part in (_days(course, zone), course.summary) if part)
        made.add_item(
            title=_plain(title),
            link=request.build_absolute_uri(reverse("course", args=[course.reference])),
            # Both kinds of reader take it as HTML.
            description=linebreaks(_plain(words), autoescape=True),
            unique_id=f"urn:studiodesk:class:{course.reference}",
            unique_id_is_permalink=False,
            pubdate=course.made_at,
            updateddate=feeds.changed_at(course),
            author_name=_plain(course.tutor.name if course.tutor is not None else studio.name),
        )
    return _kept(request, made.writeString("utf-8").encode(), made.content_type)


@require_safe
def atom(request: HttpRequest) -> HttpResponse:
    return _feed(request, Atom1Feed, reverse("classes_atom"))


@require_safe
def rss(request: HttpRequest) -> HttpResponse:
    return _feed(request, Rss201rev2Feed, reverse("classes_rss"))


@require_safe
def calendar(request: HttpRequest) -> HttpResponse:
    studio = stations.studio()
    name = _("What is on at %(studio)s") % {"studio": studio.name}
    return _kept(request, feeds.calendar_of(feeds.shown_in_feeds(timezone.now()), studio, name=name), MEDIA_TYPE)


@require_safe
def course_calendar(request: HttpRequest, reference: str) -> HttpResponse:
    """One course as a file to take along."""
    return _file(seen_by(request.user, reference))


@require_safe
def invited_calendar(request: HttpRequest, word: str) -> HttpResponse:
    """The same of a private course, for whoever has the link to it."""
    try:
        return _file(queries.course_of_invitation(word))
    except Course.DoesNotExist as missing:
        raise Http404 from missing


def _file(course: Course) -> HttpResponse:
    response = HttpResponse(feeds.calendar_of([course], stations.studio()), content_type=MEDIA_TYPE)
    response["Content-Disposition"] = f'attachment; filename="class-{course.reference}.ics"'
    response["Cache-Control"] = "private, no-cache"
    return response
