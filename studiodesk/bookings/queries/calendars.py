"""Bookings as calendars: the links that somebody has, what a calendar reads at one, and the file of one booking."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from urllib.parse import urlsplit

from django.conf import settings
from django.db.models import Q, QuerySet
from django.urls import reverse

from studiodesk.people.models import Member
from studiodesk.people.queries import secret_hash
from studiodesk.stations.models import Process, Studio

from ..models import Booking, CalendarLink
from ..rules import calendar
from ..words import calendar as words


@dataclass(frozen=True)
class Feed:
    """What a calendar gets, under which name it is kept, and when anything in it last changed."""

    content: bytes
    etag: str
    modified_at: datetime


def calendar_links(member: Member) -> list[CalendarLink]:
    """The links of one person that still work, the latest first."""
    return list(CalendarLink.objects.filter(member=member, revoked_at__isnull=True).select_related("station"))


def access_calendar_link(member: Member, pk: int) -> CalendarLink:
    """One's own link that still works; ``CalendarLink.DoesNotExist`` otherwise, for staff too."""
    return CalendarLink.objects.select_related("station").get(pk=pk, member=member, revoked_at__isnull=True)


def link_of_token(token: str) -> CalendarLink | None:
    """The link whose address holds this text, if it still works for whoever made it: one query."""
    live = CalendarLink.objects.filter(token_hash=secret_hash(token), revoked_at__isnull=True, member__is_active=True)
    return live.filter(Q(station__isnull=True) | Q(member__is_staff=True)).select_related("member", "station").first()


def booking_address(booking: Booking) -> str:
    """The whole address of a booking's page."""
    return settings.SITE_ADDRESS.rstrip("/") + reverse("booking", args=[booking.pk])


def is_dark(booking: Booking) -> bool:
    """Its process is run in total darkness."""
    return booking.process is not None and booking.process.light == Process.Light.DARK


def occurrence(booking: Booking, studio: Studio, *, of_station: bool = False) -> calendar.Occurrence:
    """One booking as a calendar shows it: to its owner, or in a station's calendar, where a number has no name."""
    address = booking_address(booking)
    place = ", ".join([studio.name, *([booking.station.zone.name] if booking.station.zone else [])])
    return calendar.Occurrence(
        uid=calendar.uid_of(booking.reference, urlsplit(settings.SITE_ADDRESS).hostname or "localhost"),
        starts=booking.starts,
        ends=booking.ends,
        summary=words.station_summary(booking) if of_station else words.own_summary(booking),
        location=f"{place}, {booking.station.name}",
        description=address if of_station else words.own_description(booking, address, is_dark=is_dark(booking)),
        url=address,
        status=calendar.status_of(cancelled_at=booking.cancelled_at, offered_until=booking.offered_until),
        sequence=booking.sequence,
        made_at=booking.made_at,
        modified_at=calendar.modified(
            booking.made_at, booking.changed_at, booking.cancelled_at, booking.released_at, booking.recorded_at
        ),
    )


def _shown(now: datetime) -> QuerySet[Booking]:
    """From four weeks back to all that is to come; what was cancelled for four weeks, so that calendars take it out."""
    since = now - calendar.KEPT
    rows = Booking.objects.filter(ends__gt=since).filter(Q(cancelled_at__isnull=True) | Q(cancelled_at__gt=since))
    return rows.select_related("member", "station", "station__zone", "process", "processor").order_by("starts", "pk")


def feed(link: CalendarLink, studio: Studio, now: datetime) -> Feed:
    """The calendar behind a link: one's own bookings, or those of a station."""
    if link.station is None:
        rows, name = _shown(now).filter(member=link.member), words.own_name(studio.name)
    else:
        rows, name = _shown(now).filter(station=link.station), words.station_name(link.station.name, studio.name)
    found = [occurrence(row, studio, of_station=link.station is not None) for row in rows]
    content = calendar.publish(found, name=name)
    latest = max([link.made_at, *(one.modified_at for one in found)])
    return Feed(content, f'"{sha256(content).hexdigest()[:32]}"', latest)


def calendar_file(
    bookings: Iterable[Booking], studio: Studio, *, stamped: datetime | None = None, method: str = ""
) -> bytes:
    """Some bookings as a file: to take from their page, or with ``method`` and ``stamped`` in a letter."""
    return calendar.publish([occurrence(row, studio) for row in bookings], method=method, stamped=stamped)
