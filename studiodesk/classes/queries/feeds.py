"""What is on, as calendars and feed readers take it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from urllib.parse import urlsplit

from django.conf import settings
from django.urls import reverse

from studiodesk.bookings.models import GroupStay
from studiodesk.bookings.rules import calendar
from studiodesk.stations.models import Studio

from ..models import Course
from .courses import courses, meetings_of, with_dates

#: What is over or was called off stays so long, so that calendars and readers learn of it.
KEPT = timedelta(weeks=4)


def shown_in_feeds(now: datetime) -> list[Course]:
    """Public courses from four weeks back to all that is to come."""
    rows = courses().filter(is_private=False, hire__isnull=True, ends__gt=now - KEPT).exclude(sort="room kept")
    return list(rows.order_by("starts", "pk").prefetch_related(with_dates()))


def address_of(course: Course) -> str:
    """The whole address of a course's page."""
    return settings.SITE_ADDRESS.rstrip("/") + reverse("course", args=[course.reference])


def changed_at(course: Course) -> datetime:
    """When anything of it was last decided."""
    return calendar.modified(course.made_at, course.changed_at, course.decided_at, course.moved_at)


def occurrence(course: Course, stay: GroupStay, studio: Studio) -> calendar.Occurrence:
    """One date of a course as a calendar shows it; its name stays the same whatever becomes of it."""
    host = urlsplit(settings.SITE_ADDRESS).hostname or "localhost"
    return calendar.Occurrence(
        uid=f"class-{course.reference}-{stay.pk}@{host}",
        starts=stay.starts,
        ends=stay.ends,
        summary=course.title,
        location=studio.name,
        description="\n\n".join(part for part in (course.summary, address_of(course)) if part),
        url=address_of(course),
        status=calendar.status_of(cancelled_at=stay.cancelled_at, offered_until=None),
        sequence=course.sequence,
        made_at=course.made_at,
        modified_at=calendar.modified(changed_at(course), stay.changed_at, stay.cancelled_at),
    )


def calendar_of(many: Iterable[Course], studio: Studio, *, name: str = "") -> bytes:
    """Every date of these courses as iCalendar (RFC 5545)."""
    found = [occurrence(one, meeting.stay, studio) for one in many for meeting in meetings_of(one)]
    return calendar.publish(found, name=name)
