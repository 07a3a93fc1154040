"""A class in the open vocabulary for events (schema.org, Event and its properties), as JSON-LD in the page."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from django.utils import timezone

from studiodesk.bookings.models import GroupStay
from studiodesk.stations import queries as stations

from ..models import Course

BASE = "https://schema.org/"
#: What would end the script or begin another element inside it.
ESCAPES = {ord("<"): "\\u003C", ord(">"): "\\u003E", ord("&"): "\\u0026"}


def event_of(
    course: Course, stays: Sequence[GroupStay], here: str, left: int, *, signs_up: bool = True
) -> dict[str, Any]:
    """The course as an Event; with several dates each is a ``subEvent``.

    ``signs_up`` False, or called off: there are no places to offer.
    """
    studio = stations.studio()
    zone = stations.zone(studio)
    status = "EventCancelled" if course.is_off else "EventRescheduled" if course.moved_at else "EventScheduled"
    price = course.price_minor / 10**studio.currency_digits
    event: dict[str, Any] = {
        "@context": BASE.rstrip("/"),
        "@type": "EducationEvent" if course.sort in {"class", "talk"} else "Event",
        "@id": here,
        "name": course.title,
        "url": here,
        "startDate": timezone.localtime(stays[0].starts, zone).isoformat(),
        "endDate": timezone.localtime(stays[-1].ends, zone).isoformat(),
        "eventStatus": BASE + status,
        "eventAttendanceMode": BASE + "OfflineEventAttendanceMode",
        "location": {"@type": "Place", "name": studio.name, "address": studio.name},
        "organizer": {"@type": "Organization", "name": studio.name},
    }
    if course.summary:
        event["description"] = course.summary
    if course.tutor is not None:
        event["performer"] = {"@type": "Person", "name": course.tutor.name}
    if signs_up and not course.is_off:
        event["maximumAttendeeCapacity"] = course.heads_most
        event["remainingAttendeeCapacity"] = left
        event["offers"] = {
            "@type": "Offer",
            "price": f"{price:.{studio.currency_digits}f}",
            "priceCurrency": studio.currency,
            "availability": BASE + ("InStock" if left else "SoldOut"),
            "url": here,
        }
    if len(stays) > 1:
        event["subEvent"] = [
            {
                "@type": "Event",
                "name": course.title,
                "startDate": timezone.localtime(stay.starts, zone).isoformat(),
                "endDate": timezone.localtime(stay.ends, zone).isoformat(),
                "location": event["location"],
            }
            for stay in stays
        ]
    return event


def event_json(course: Course, stays: Sequence[GroupStay], here: str, left: int, *, signs_up: bool = True) -> str:
    """As text that is safe inside ``<script type="application/ld+json">``."""
    return json.dumps(event_of(course, stays, here, left, signs_up=signs_up), ensure_ascii=False).translate(ESCAPES)
