"""Describing the house: idempotent, so that loading the same description twice changes nothing.

Every function answers the row and whether anything was made or changed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any, TypeVar

from django.db import models

from studiodesk.acts import act, locked
from studiodesk.answers import Refused
from studiodesk.journal.actions import record
from studiodesk.people.models import Member

from .. import rules
from ..models import Closure, Lane, LightZone, OpeningSpan, Process, Processor, Resource, Service, Station, Studio

M = TypeVar("M", bound=models.Model)


def _changed(row: models.Model, values: Mapping[str, Any]) -> bool:
    """Write what differs, and only that."""
    differing = [name for name, value in values.items() if getattr(row, name) != value]
    for name in differing:
        setattr(row, name, values[name])
    if differing:
        row.save(update_fields=differing)
    return bool(differing)


def _described(model: type[M], key: Mapping[str, Any], values: Mapping[str, Any]) -> tuple[M, bool]:
    row = model._default_manager.filter(**key).first()
    if row is None:
        return model._default_manager.create(**key, **values), True
    return row, _changed(row, values)


@act
def describe_studio(
    *,
    name: str,
    time_zone: str,
    currency: str,
    currency_digits: int = 2,
    grid_minutes: int = 15,
    heads_at_once: int | None = None,
    opens_by_shifts: bool = False,
    language: str | None = None,
    clock: str | None = None,
    units: str | None = None,
) -> tuple[Studio, bool]:
    """The one studio of this database.  None: as the house's own page has it."""
    values = {
        "name": name,
        "time_zone": time_zone,
        "currency": currency,
        "currency_digits": currency_digits,
        "grid_minutes": grid_minutes,
        "heads_at_once": heads_at_once,
        "opens_by_shifts": opens_by_shifts,
        **{
            name: value
            for name, value in (("language", language), ("clock", clock), ("units", units))
            if value is not None
        },
    }
    row = Studio.objects.first()
    if row is None:
        return Studio.objects.create(**values), True
    return row, _changed(row, values)


@act
def set_writing(*, language: str, clock: str, units: str, now: datetime, by: Member) -> None:
    """How the house writes: the language of whoever chose none, the clock of 24 or 12 hours, metric or inch."""
    row = locked(Studio.objects.all()).get()
    values = {"language": language, "clock": clock, "units": units}
    if _changed(row, values):
        record(code="stations.writing_set", happened_at=now, now=now, by=by, about=row, facts=values)


@act
def set_opening(*, week: Mapping[int, Sequence[tuple[int, int]]]) -> bool:
    """The whole week at once: weekday (0 is Monday) → (opens, closes) in minutes after midnight.

    True if it differs from what stood.
    """
    wanted = sorted((day, opens, closes) for day, spans in week.items() for opens, closes in spans)
    standing = sorted(OpeningSpan.objects.values_list("weekday", "opens_minute", "closes_minute"))
    if wanted == standing:
        return False
    OpeningSpan.objects.all().delete()
    OpeningSpan.objects.bulk_create(
        OpeningSpan(weekday=day, opens_minute=opens, closes_minute=closes) for day, opens, closes in wanted
    )
    return True


@act
def set_closures(*, closures: Iterable[rules.Shut]) -> bool:
    """All closures at once.  True if they differ from what stood."""
    wanted = sorted((shut.first_day, shut.last_day, shut.reason) for shut in closures)
    standing = sorted(Closure.objects.values_list("first_day", "last_day", "reason"))
    if wanted == standing:
        return False
    Closure.objects.all().delete()
    Closure.objects.bulk_create(Closure(first_day=a, last_day=b, reason=reason) for a, b, reason in wanted)
    return True


@act
def describe_process(
    *, code: str, name: str, light: str, paper: str = "", material: str = "paper"
) -> tuple[Process, bool]:
    """``material``: "paper" or "film"; the one never goes through the other's processors."""
    values = {"name": name, "paper": paper, "light": light, "material": material}
    return _described(Process, {"code": code}, values)


def _resource(sort: str, places: int) -> Resource:
    resource = Resource.objects.create(sort=sort)
    Lane.objects.bulk_create(Lane(resource=resource, number=number) for number in range(1, places + 1))
    return resource


def set_lanes(resource: Resource, places: int, now: datetime) -> list[datetime]:
    """Lanes are added when they are missing and never removed: the past stands in them.

    A lane that would go must not be held later on: answers until when such ones are held, and then adds none.
    """
    lanes = {lane.number: lane for lane in resource.lanes.all()}
    going = [lane.pk for number, lane in lanes.items() if number > places]
    held = [
        ends
        for lane in resource.lanes.filter(pk__in=going)
        for ends in lane.holds.filter(ends__gt=now).values_list("ends", flat=True)
    ]
    if not held:
        Lane.objects.bulk_create(
            Lane(resource=resource, number=number) for number in range(1, places + 1) if number not in lanes
        )
    return held


def _set_places(processor: Processor, places: int, now: datetime) -> None:
    """Raises ``Refused("stations.place_is_held")`` while a place that would go is held later on."""
    refusal = rules.fewer_places(set_lanes(processor.resource, places, now), places, processor.name)
    if refusal:
        raise Refused(refusal)


def _know_services(needs: Iterable[str]) -> None:
    """What something needs can be shut for all that need it: every service has a row."""
    for need in needs:
        Service.objects.get_or_create(name=need[:60])


@act
def describe_processor(
    *,
    code: str,
    name: str,
    process: Process,
    feed_width_mm: int,
    booths_at_once: int,
    now: datetime,
    shortest_feed_mm: int = 0,
    warm_up_minutes: int = 0,
    dry_to_dry_minutes: int = 0,
    closing_down_minutes: int = 0,
    bath_change_minutes: int = 120,
    needs: Sequence[str] = (),
) -> tuple[Processor, bool]:
    """A processor with its places.

    The row that bookings lock is locked first, so that no place can be booked while it is being taken away.
    """
    values = {
        "name": name,
        "process": process,
        "feed_width_mm": feed_width_mm,
        "booths_at_once": booths_at_once,
        "shortest_feed_mm": shortest_feed_mm,
        "warm_up_minutes": warm_up_minutes,
        "dry_to_dry_minutes": dry_to_dry_minutes,
        "closing_down_minutes": closing_down_minutes,
        "bath_change_minutes": bath_change_minutes,
        "needs": list(needs),
    }
    _know_services(needs)
    list(locked(Resource.objects.filter(pk__in=Processor.objects.filter(code=code).values("resource_id"))))
    row = Processor.objects.select_related("resource", "process").filter(code=code).first()
    if row is None:
        resource = _resource(Resource.Sort.PROCESSOR, booths_at_once)
        return Processor.objects.create(code=code, resource=resource, **values), True
    if row.booths_at_once != booths_at_once:
        _set_places(row, booths_at_once, now)
    return row, _changed(row, values)


@act
def describe_room(*, name: str, heads_at_most: int | None) -> tuple[LightZone, bool]:
    """How many people may be in a shared room at once; None: the house has no figure for it."""
    return _described(LightZone, {"name": name}, {"heads_at_most": heads_at_most})


@act
def describe_station(
    *,
    code: str,
    name: str,
    kind: str,
    processes: Iterable[Process] = (),
    formats: Sequence[str] = (),
    light_source: str = "",
    zone_name: str = "",
    largest_print_mm: Any = None,
    set_up_minutes: int = 0,
    clear_up_minutes: int = 0,
    needs: Sequence[str] = (),
    step_free: bool = False,
    bench_height_mm: int | None = None,
    has_colour_filters: bool = False,
    heads_at_most: int | None = None,
) -> tuple[Station, bool]:
    """A station.  ``zone_name`` "" means that it shares its light with nobody."""
    zone = LightZone.objects.get_or_create(name=zone_name)[0] if zone_name else None
    values = {
        "name": name,
        "kind": kind,
        "formats": list(formats),
        "light_source": light_source,
        "zone": zone,
        "largest_print_mm": largest_print_mm,
        "set_up_minutes": set_up_minutes,
        "clear_up_minutes": clear_up_minutes,
        "needs": list(needs),
        "step_free": step_free,
        "bench_height_mm": bench_height_mm,
        "has_colour_filters": has_colour_filters,
        "heads_at_most": heads_at_most,
    }
    _know_services(needs)
    row = Station.objects.select_related("zone").filter(code=code).first()
    if row is None:
        row = Station.objects.create(code=code, resource=_resource(Resource.Sort.STATION, 1), **values)
        changed = True
    else:
        changed = _changed(row, values)
    wanted = {process.pk for process in processes}
    if wanted != set(row.processes.values_list("pk", flat=True)):
        row.processes.set(wanted)
        changed = True
    return row, changed
