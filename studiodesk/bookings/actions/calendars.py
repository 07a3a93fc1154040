"""Links at which a calendar program reads bookings: made, revoked, used.  Only a hash of a link's secret is kept."""

from __future__ import annotations

import secrets
from datetime import date, datetime

from studiodesk.acts import act, locked
from studiodesk.answers import refuse
from studiodesk.journal.actions import record
from studiodesk.people.models import Member
from studiodesk.people.queries import secret_hash
from studiodesk.stations.models import Station

from ..models import CalendarLink
from ..rules.calendar import MOST_LINKS


@act
def make_calendar_link(
    *, member: Member, now: datetime, by: Member, station: Station | None = None
) -> tuple[CalendarLink, str]:
    """A new private address for one's own bookings, or for a station's; gives the row and the 256-bit secret.

    Refused: ``bookings.station_link_is_for_staff``, ``bookings.too_many_links``.
    """
    if station is not None and not (member.is_active and member.is_staff):
        refuse("bookings.station_link_is_for_staff", status=403)
    locked(Member.objects.filter(pk=member.pk)).get()
    live = CalendarLink.objects.filter(member=member, revoked_at__isnull=True).count()
    if live >= MOST_LINKS:
        refuse("bookings.too_many_links", count=live)
    secret = secrets.token_urlsafe(32)
    link = CalendarLink.objects.create(member=member, station=station, token_hash=secret_hash(secret), made_at=now)
    facts = {"station": station.pk} if station is not None else {}
    record(code="bookings.calendar_link_made", happened_at=now, now=now, by=by, about=link, facts=facts)
    return link, secret


@act
def revoke_calendar_link(*, link: CalendarLink, now: datetime, by: Member) -> None:
    """Whoever has the address reads nothing at it from now on.  Done before, it changes nothing."""
    if CalendarLink.objects.filter(pk=link.pk, revoked_at__isnull=True).update(revoked_at=now):
        record(code="bookings.calendar_link_revoked", happened_at=now, now=now, by=by, about=link)


@act
def calendar_link_used(*, link: CalendarLink, today: date) -> None:
    """The day on which a link was last read, written at most once a day."""
    if link.last_used_on != today:
        CalendarLink.objects.filter(pk=link.pk).update(last_used_on=today)
