"""What does not work in the demo: what everything needs, a fault nobody has looked at, a booth that is out of service
over two bookings, and a bay that is shut while nobody is there.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.utils.translation import gettext as _

from studiodesk.bookings import actions as bookings
from studiodesk.bookings import queries as booking_queries
from studiodesk.bookings.models import Booking, Hold
from studiodesk.stations import actions as stations
from studiodesk.stations import queries as house
from studiodesk.stations.models import Station
from studiodesk.timekeeping import Span

from .evenings import Evenings
from .people import Cast

#: What the example's own processors need to be of use: it does not say so itself.
NEEDS = {
    "P-RC": ("water", "hot water", "power", "extraction"),
    "P-CO": ("water", "hot water", "power", "extraction"),
    "T-FB": ("water", "extraction"),
}
HITS = 2


def know_what_is_needed(now: datetime) -> None:
    for row in house.processors():
        stations.describe_processor(
            code=row.code,
            name=row.name,
            process=row.process,
            feed_width_mm=row.feed_width_mm,
            booths_at_once=row.booths_at_once,
            shortest_feed_mm=row.shortest_feed_mm,
            warm_up_minutes=row.warm_up_minutes,
            dry_to_dry_minutes=row.dry_to_dry_minutes,
            closing_down_minutes=row.closing_down_minutes,
            bath_change_minutes=row.bath_change_minutes,
            needs=NEEDS[row.code],
            now=now,
        )


def lamp_repair(evenings: Evenings, cast: Cast) -> None:
    """A station that is shut for a morning, where nobody has booked it."""
    bay = evenings.station("D1")
    for days in range(1, 8):
        for opening in evenings.openings_on(days):
            span = Span(opening.starts, opening.starts + timedelta(hours=3))
            if booking_queries.who_is_hit([bay.resource_id], span, evenings.now):
                continue
            bookings.close_station(station=bay, span=span, reason=_("lamp repair"), now=evenings.now, by=cast.staff)
            return


def report_a_fault(here: list[Booking], evenings: Evenings) -> None:
    """Somebody who is in says that something is wrong in their booth; nobody has looked at it yet."""
    booking = here[-1]
    bookings.report_fault(
        resource=booking.station.resource,
        kind="timer",
        more=_("it counts on after zero now and then"),
        now=evenings.now - timedelta(minutes=38),
        by=booking.member,
    )


def a_booth_fails(here: list[Booking], evenings: Evenings, cast: Cast) -> None:
    """A fault was reported, and the booth is out of service on a day on which two people booked it."""
    now = evenings.now
    station, span = _where_two_are_hit(evenings, cast)
    report = bookings.report_fault(
        resource=station.resource,
        kind="focus",
        more=_("the column has come loose and the head sinks by itself"),
        now=now - timedelta(minutes=50),
        by=here[0].member,
    )
    bookings.shut(
        things=[station],
        span=span,
        reason=_("column loose, waiting for a part"),
        cause="fault",
        report=report,
        now=now - timedelta(minutes=12),
        by=cast.staff,
    )


def _where_two_are_hit(evenings: Evenings, cast: Cast) -> tuple[Station, Span]:
    """The first booth and day with exactly two bookings, none of them the logging-in member's; else the fullest."""
    best: tuple[int, Station, Span] | None = None
    for station, opening in _booths_ahead(evenings):
        hit = booking_queries.who_is_hit([station.resource_id], opening, evenings.now)
        if any(booking.member_id == cast.member.pk for booking in hit):
            continue
        if Hold.objects.filter(
            lane__resource=station.resource_id, group__isnull=False, starts__lt=opening.ends, ends__gt=opening.starts
        ).exists():
            continue  # a class keeps it for a part of that day
        if best is None or HITS >= len(hit) > best[0]:
            best = (len(hit), station, opening)
        if best[0] == HITS:
            break
    if best is None:
        raise ValueError("the demo's house is never open")
    return best[1], best[2]


def _booths_ahead(evenings: Evenings) -> Iterator[tuple[Station, Span]]:
    for days in range(1, 15):
        for opening in evenings.openings_on(days):
            for station in reversed(evenings.booths):
                if opening.starts > evenings.now:
                    yield station, opening
