"""What is out of service, and whose bookings stand in it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from django.db.models import Count, F, Q, QuerySet

from studiodesk.journal.models import Entry
from studiodesk.stations.models import KitItem, Processor, Resource, Service, Station
from studiodesk.timekeeping import Span

from ..models import Booking, Hold, Outage
from ..rules import outages as rules
from .lists import whole
from .touching import LONGEST_HOLD, TAKEN, holds_touching

Thing = Station | Processor | KitItem
SORT_OF: dict[type[Any], str] = {Station: "station", Processor: "processor", KitItem: "kit"}


def thing_of(resource: Resource) -> Thing:
    """The station, processor or item that a resource stands for."""
    found: Thing = getattr(resource, {"station": "station", "processor": "processor"}.get(resource.sort, "kit"))
    return found


def thing_key(thing: Thing) -> str:
    """What ``thing_named`` finds it by: "station E1"."""
    return f"{SORT_OF[type(thing)]} {thing.code}"


def thing_named(key: str) -> Thing | None:
    """What ``thing_key`` wrote; None for anything else."""
    sort, _space, code = key.partition(" ")
    model = next((one for one, name in SORT_OF.items() if name == sort), None)
    if model is None or not code.isprintable():
        return None
    found: Thing | None = model.objects.select_related("resource").filter(code=code).first()
    return found


def all_things() -> list[tuple[str, list[Thing]]]:
    """Everything that can be out of service, by sort."""
    return [(name, list(model.objects.order_by("pk"))) for model, name in SORT_OF.items()]


def with_things(resources: QuerySet[Resource]) -> QuerySet[Resource]:
    return resources.select_related("station", "processor", "kit").order_by("pk")


def things_of(outage: Outage) -> list[Thing]:
    """What an outage takes out of service, in the order in which it was described."""
    return [thing_of(resource) for resource in with_things(outage.resources.all())]


def resource_ids(outage: Outage) -> list[int]:
    return list(outage.resources.order_by("pk").values_list("pk", flat=True))


def access_outage(pk: int) -> Outage:
    """One outage for whoever runs the house; ``Outage.DoesNotExist`` if there is none."""
    return Outage.objects.select_related("service", "made_by").get(pk=pk)


def outages_ahead(now: datetime) -> list[Outage]:
    """What is or will be out of service, soonest first, with its things read along."""
    rows = Outage.objects.filter(ends__gt=now).select_related("service").order_by("starts", "pk")
    things = ("resources__station", "resources__processor", "resources__kit")
    return list(rows.prefetch_related(*things))


def closures_without_outage(now: datetime) -> QuerySet[Hold]:
    """Closures as they were written before there were outages, from ``now`` on."""
    rows = Hold.objects.filter(outage__isnull=True, ends__gt=now).exclude(cause__in=TAKEN)
    of = ("lane__resource__station", "lane__resource__processor", "lane__resource__kit")
    return rows.select_related(*of).order_by("lane__resource_id", "starts", "ends")


def who_is_hit(
    resources: Sequence[int], span: Span, now: datetime, leaving_out: Booking | None = None
) -> list[Booking]:
    """Bookings that keep one of the resources within ``span``, set-up and clear-up included, by start.

    Who has left, and what is over, is hit by nothing any more.
    """
    coming = rules.still_to_come(span, now)
    if coming is None or not resources:
        return []
    keys = holds_touching(coming).filter(lane__resource__in=resources, cause=Hold.Cause.BOOKING)
    rows = whole().filter(pk__in=keys.values("booking_id"), ends__gt=now, left_at__isnull=True)
    if leaving_out is not None:
        rows = rows.exclude(pk=leaving_out.pk)
    return list(rows.order_by("starts", "pk"))


def hits_of(outage: Outage, now: datetime) -> list[Booking]:
    """The bookings that an outage hits and that still stand in it."""
    return who_is_hit(resource_ids(outage), Span(outage.starts, outage.ends), now)


def _standing_in_it(now: datetime) -> Q:
    """Asked of ``Outage``: a booking or a group that is not over keeps one of its things in its time."""
    holds = "resources__lanes__holds__"
    times = Q(**{f"{holds}starts__lt": F("ends"), f"{holds}ends__gt": F("starts")})
    # No hold is longer than a day: only the newest of a lane are looked at.
    ahead = Q(**{f"{holds}ends__gt": now, f"{holds}starts__gt": now - LONGEST_HOLD})
    stands = Q(**{f"{holds}booking__ends__gt": now, f"{holds}booking__left_at__isnull": True})
    stands |= Q(**{f"{holds}group__ends__gt": now})
    return times & ahead & stands & Q(ends__gt=now)


def unsettled(now: datetime) -> QuerySet[Outage]:
    """Outages in which bookings or groups still stand, with ``hits``: how many."""
    rows = Outage.objects.filter(_standing_in_it(now))
    holds = "resources__lanes__holds__"
    return rows.annotate(hits=Count(f"{holds}booking", distinct=True) + Count(f"{holds}group", distinct=True))


def outages_hitting(booking: Booking, now: datetime) -> list[Outage]:
    """The outages in whose time this booking keeps one of their things: it cannot be as it was booked."""
    theirs = Q(resources__lanes__holds__booking=booking.pk)
    return list(Outage.objects.filter(_standing_in_it(now) & theirs).distinct())


def needing(service: Service) -> list[Station | Processor]:
    """The stations and processors that name this service among what they need."""
    name = service.name.casefold()

    def needs(one: Station | Processor) -> bool:
        return any(str(need).strip().casefold() == name for need in one.needs)

    stations = [one for one in Station.objects.order_by("pk") if needs(one)]
    return [*stations, *(one for one in Processor.objects.order_by("pk") if needs(one))]


def once_hit(outage: Outage) -> list[int]:
    """The bookings that stood there when it was shut, whatever became of them."""
    entry = Entry.objects.filter(code="bookings.closed", about="outage", about_id=outage.pk).first()
    return list(entry.facts.get("hit", [])) if entry is not None else []


def became(outage: Outage, still_hit: Iterable[Booking]) -> list[Booking]:
    """Bookings that this outage hit and hits no more, as they stand now."""
    left = set(once_hit(outage)) - {booking.pk for booking in still_hit}
    return list(whole().filter(pk__in=left).order_by("starts", "pk"))
