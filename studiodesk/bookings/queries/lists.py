"""Bookings as lists: mine, who is in, who comes next, what has to be warm for whom."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, Q, QuerySet

from studiodesk.journal.models import Entry
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations import rules as house_rules
from studiodesk.stations.models import Processor, Studio
from studiodesk.timekeeping import Span, day_span

from ..models import Booking, Outage
from .touching import bookings_touching


def whole() -> QuerySet[Booking]:
    """Bookings with everything that a line about one says."""
    return Booking.objects.select_related("member", "station", "station__zone", "process", "processor")


def access_booking(member: Member, pk: int) -> Booking:
    """One booking: one's own, or any for whoever runs the house; ``Booking.DoesNotExist`` otherwise."""
    rows = whole() if member.may_run_the_house else whole().filter(member=member)
    return rows.get(pk=pk)


def was_cancelled_by(booking: Booking, who: Member) -> bool:
    """True if it was this person who cancelled it."""
    about = Entry.objects.filter(about=Booking._meta.model_name, about_id=booking.pk)
    about = about.filter(code__in=["bookings.cancelled", "bookings.offer_declined"])
    return about.filter(actor=who).exists()


def coming_and_gone(member: Member, now: datetime, gone: int = 20) -> tuple[list[Booking], list[Booking]]:
    """A member's bookings: what is still to come or under way, soonest first; and the latest of the past."""
    mine = whole().filter(member=member)
    gone_by = Q(ends__lte=now)
    for settled in ("cancelled_at", "released_at", "left_at"):  # as ``keeping.standing`` says
        gone_by |= Q(**{f"{settled}__isnull": False})
    coming = mine.exclude(gone_by).order_by("starts", "pk")
    past = mine.filter(gone_by).order_by("-starts", "-pk")
    return list(coming), list(past[:gone])


def in_between(span: Span) -> QuerySet[Booking]:
    """Bookings that stand and share an instant with ``span``, by start; not what is only kept for somebody."""
    keys = bookings_touching(span).filter(offered_until__isnull=True).values("pk")
    return whole().filter(pk__in=keys).order_by("starts", "pk")


def bookings_on(day: date) -> QuerySet[Booking]:
    """Bookings that stand on that local day."""
    return in_between(day_span(day, stations.zone()))


def who_is_in(now: datetime) -> QuerySet[Booking]:
    """Signed in and not signed out: under way, or over since less than twelve hours and still not signed out."""
    return (
        whole()
        .filter(cancelled_at__isnull=True, arrived_at__lte=now, left_at__isnull=True)
        .filter(ends__gt=now - timedelta(hours=12))
        .order_by("ends", "pk")
    )


def next_up(now: datetime, until: datetime) -> QuerySet[Booking]:
    """Not signed in yet: those that should be here by now, and those that begin before ``until``; by start.

    Nobody is expected for what is only kept for them, or was given back because they did not come.
    """
    return (
        whole()
        .filter(cancelled_at__isnull=True, offered_until__isnull=True)
        .filter(arrived_at__isnull=True, released_at__isnull=True)
        .filter(ends__gt=now, starts__lt=until)
        .order_by("starts", "pk")
    )


def with_machine_out(rows: QuerySet[Booking]) -> QuerySet[Booking]:
    """``machine_is_out``: is the processor of the booking out of service for some of its time?"""
    out = Outage.objects.filter(starts__lt=OuterRef("ends"), ends__gt=OuterRef("starts"))
    return rows.annotate(machine_is_out=Exists(out.filter(resources=OuterRef("processor__resource"))))


@dataclass(frozen=True)
class ToWarm:
    """A processor that somebody booked: begin by ``begin``, so that it is ready at ``ready`` for ``first``."""

    processor: Processor
    begin: datetime
    ready: datetime
    first: Booking


def to_warm(
    day: date,
    now: datetime,
    zone: ZoneInfo | None = None,
    *,
    studio: Studio | None = None,
    booked: Sequence[Booking] | None = None,
    hours: house_rules.Hours | None = None,
) -> list[ToWarm]:
    """What has to be warmed up on that local day and has not been in use yet, most urgent first.

    Warm-up begins so that the processor is ready when the first booking starts, but not before the house opens.  A
    machine whose first booking has begun is on already, unless nobody came to it (``heats``), and one that is out of
    service in the time of a booking is not warmed up for it.  ``booked``: the bookings that stand on that day, by
    start, if the caller has them, and so ``hours``.
    """
    studio = studio or stations.studio()
    zone = zone or stations.zone(studio)
    today = day_span(day, zone)
    opened = house_rules.open_spans(day, hours or stations.hours(studio, day, day), zone)
    firsts: dict[int, Booking] = {}
    if booked is None:
        stands = whole().filter(pk__in=bookings_touching(today).values("pk"), offered_until__isnull=True)
        booked = list(with_machine_out(stands))
    at_one = [(one, one.processor) for one in booked if one.processor is not None and today.holds(one.starts)]
    for booking, machine in at_one:
        if booking.machine_is_out:  # type: ignore[attr-defined]
            continue  # it cannot stay there
        if booking.starts <= now and not house_rules.heats(booking.starts, booking.arrived_at, now):
            continue  # nobody came to it, and whoever found the booth empty has switched the machine off
        firsts.setdefault(machine.pk, booking)
    out = []
    for first in firsts.values():
        if first.starts <= now or first.processor is None:
            continue
        warm_up = timedelta(minutes=first.processor.warm_up_minutes)
        begin = first.starts - warm_up
        if opened and begin < opened[0].starts <= first.starts:
            begin = opened[0].starts
        out.append(ToWarm(first.processor, begin, begin + warm_up, first))
    return sorted(out, key=lambda item: item.begin)
