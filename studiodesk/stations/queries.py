"""Every read of the house: its hours, its stations, its processors."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from studiodesk.answers import Refusal, Refused
from studiodesk.timekeeping import Span

from . import rules
from .models import Closure, Lane, OpeningSpan, Process, Processor, Resource, Station, Studio


def studio_or_none() -> Studio | None:
    return Studio.objects.first()


def studio() -> Studio:
    """The one studio; ``Refused("stations.no_studio")`` before one was loaded."""
    found = studio_or_none()
    if found is None:
        raise Refused(Refusal("stations.no_studio"))
    return found


def zone(of: Studio | None = None) -> ZoneInfo:
    return ZoneInfo((of or studio()).time_zone)


def hours() -> rules.Hours:
    """The week and the closures, in two queries."""
    week: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for row in OpeningSpan.objects.all():
        week[row.weekday].append((row.opens_minute, row.closes_minute))
    closures = [rules.Shut(row.first_day, row.last_day, row.reason) for row in Closure.objects.all()]
    return rules.Hours(dict(week), tuple(closures))


def opening(day: date, of: Studio | None = None) -> list[Span]:
    """The spans in which the house is open on that local day (UTC)."""
    return rules.open_spans(day, hours(), zone(of))


def stations() -> QuerySet[Station]:
    return Station.objects.select_related("zone").prefetch_related("processes")


def kinds() -> list[str]:
    """The kinds of station there are, in the order in which the studio lists them."""
    return list(dict.fromkeys(Station.objects.order_by("pk").values_list("kind", flat=True)))


def stations_of_kind(kind: str) -> list[Station]:
    return list(stations().filter(kind=kind))


def processes() -> QuerySet[Process]:
    return Process.objects.all()


def processors() -> QuerySet[Processor]:
    return Processor.objects.select_related("process")


def processors_of(process: Process) -> list[Processor]:
    """The processors that run this process, in the order in which the studio lists them."""
    return list(processors().filter(process=process))


def access_processor(code: str) -> Processor:
    return processors().get(code=code)


def lanes_of(resource_ids: list[int]) -> dict[int, list[int]]:
    """Resource id → the ids of its lanes in number order; places that were taken away are left out."""
    places = dict(Processor.objects.filter(resource_id__in=resource_ids).values_list("resource_id", "booths_at_once"))
    out: dict[int, list[int]] = {resource: [] for resource in resource_ids}
    for lane in Lane.objects.filter(resource_id__in=resource_ids).order_by("resource_id", "number"):
        if lane.number <= places.get(lane.resource_id, lane.number):
            out[lane.resource_id].append(lane.pk)
    return out


def resources(ids: list[int]) -> QuerySet[Resource]:
    """The rows that an act locks, in the one order that everybody keeps."""
    return Resource.objects.filter(pk__in=ids).order_by("pk")


def minutes(number: int) -> timedelta:
    return timedelta(minutes=number)
