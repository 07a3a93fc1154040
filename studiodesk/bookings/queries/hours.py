"""Bookings in whose time the house is not open any more: hours were shortened, days closed, a shift called off."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.db.models import QuerySet

from studiodesk.stations import queries as stations
from studiodesk.stations import rules as house_rules
from studiodesk.stations.models import Studio
from studiodesk.timekeeping import Span, studio_day

from ..models import Booking
from ..rules import outages as rules
from .lists import whole
from .touching import LONGEST_HOLD

#: So many days ahead bookings are compared with the hours.
HORIZON_DAYS = 400


def stays_ahead(now: datetime) -> QuerySet[Booking]:
    """Whatever is still to come, or under way: a stay that has begun counts only as long as it lasts."""
    return Booking.objects.filter(
        cancelled_at__isnull=True,
        released_at__isnull=True,
        left_at__isnull=True,
        starts__gt=now - LONGEST_HOLD,
        ends__gt=now,
        starts__lt=now + timedelta(days=HORIZON_DAYS),
    )


def hours_ahead(now: datetime, studio: Studio) -> house_rules.Hours:
    """The house's hours from yesterday on, as far as bookings are compared with them."""
    today = studio_day(now, stations.zone(studio))
    return stations.hours(studio, today - timedelta(days=2), today + timedelta(days=HORIZON_DAYS + 1))


def outside(
    stays: Iterable[tuple[int, Span]], studio: Studio, now: datetime, hours: house_rules.Hours | None = None
) -> list[int]:
    """The keys of those stays in whose time the house is not open (any more); no query if ``hours`` are known."""
    stays = list(stays)
    if not stays:
        return []
    zone = stations.zone(studio)
    first = studio_day(min(span.starts for _key, span in stays), zone) - timedelta(days=1)
    last = studio_day(max(span.ends for _key, span in stays), zone)
    opened = house_rules.open_around(first, last, hours or hours_ahead(now, studio), zone)
    return [key for key, span in stays if not rules.lies_open(span, opened)]


def out_of_hours(now: datetime, studio: Studio) -> list[int]:
    """The keys of bookings from ``now`` on in whose time the house is not open (any more), by start."""
    rows = stays_ahead(now).order_by("starts", "pk").values_list("pk", "starts", "ends")
    return outside([(key, Span(starts, ends)) for key, starts, ends in rows], studio, now)


def hit_by_hours(now: datetime, studio: Studio) -> list[Booking]:
    """The bookings of ``out_of_hours`` with what a list of them shows."""
    return list(whole().filter(pk__in=out_of_hours(now, studio)).order_by("starts", "pk"))
