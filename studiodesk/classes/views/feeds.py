"""What is on as Atom (RFC 4287), RSS 2.0 and iCalendar (RFC 5545): for readers and calendars, without a log-in."""

from __future__ import annotations

from hashlib import sha256

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.feedgenerator import Atom1Feed, Rss201rev2Feed, SyndicationFeed
from django.utils.formats import date_format
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from studiodesk.bookings.views.calendars import MEDIA_TYPE
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


def _days(course: Course) -> str:
    zone = stations.zone()
    moments = [timezone.localtime(meeting.stay.starts, zone) for meeting in queries.meetings_of(course)]
    return ", ".join(f"{date_format(one, 'l j F Y')}, {date_format(one, 'H:i')}" for one in moments)


def _feed(request: HttpRequest, kind: type[SyndicationFeed], here: str) -> HttpResponse:
    studio, now = stations.studio(), timezone.now()
    many = feeds.shown_in_feeds(now)
    made = kind(
        title=_("What is on at %(studio)s") % {"studio": studio.name},
        link=request.build_absolute_uri(reverse("whats_on")),
        description=_("Classes, talks and open evenings"),
        feed_url=request.build_absolute_uri(here),
        language=get_language(),
    )
    for course in many:
        title = _("Called off: %(title)s") % {"title": course.title} if course.is_off else course.title
        made.add_item(
            title=title,
            link=request.build_absolute_uri(reverse("course", args=[course.reference])),
            description="\n\n".join(part for part in (_days(course), course.summary) if part),
            unique_id=f"urn:studiodesk:class:{course.reference}",
            unique_id_is_permalink=False,
            pubdate=course.made_at,
            updateddate=feeds.changed_at(course),
            author_name=course.tutor.name if course.tutor is not None else studio.name,
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
    course = seen_by(request.user, reference)
    response = HttpResponse(feeds.calendar_of([course], stations.studio()), content_type=MEDIA_TYPE)
    response["Content-Disposition"] = f'attachment; filename="class-{course.reference}.ics"'
    response["Cache-Control"] = "private, no-cache"
    return response
