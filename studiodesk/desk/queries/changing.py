"""What the guide to a bath change reads: how each bath stands, when there is time for it, where the old one goes."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import F

from studiodesk.bookings.models import Hold
from studiodesk.bookings.queries.touching import holds_touching
from studiodesk.chemistry import queries as chemistry
from studiodesk.chemistry.models import Bath, Recipe
from studiodesk.chemistry.queries import waste
from studiodesk.chemistry.rules.standing import Standing
from studiodesk.people.models import Member
from studiodesk.safety import queries as safety
from studiodesk.stations import job_queries
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Job, Processor, Studio
from studiodesk.stations.rules import hours as hour_rules
from studiodesk.timekeeping import Span, day_span, localise, studio_day, without

from .ahead import Ahead, ahead

#: So far ahead a free time is looked for.
DAYS = 14
LINE_OF_WATER = "running water"


@dataclass(frozen=True)
class BathNow:
    """One bath with how it stands and what is foretold of it."""

    bath: Bath
    line: Standing
    ahead: Ahead | None

    @property
    def is_water(self) -> bool:
        """Water that runs through wears nothing out and is not changed like this."""
        return self.line.dosing == LINE_OF_WATER


@dataclass(frozen=True)
class ToChange:
    """``free``: from when to when nobody has the processor, long enough; ``closed``: days without members near by."""

    processor: Processor
    baths: list[BathNow]
    free: Span | None
    planned: list[datetime]
    closed: list[date]

    @property
    def length(self) -> timedelta:
        return timedelta(minutes=self.processor.bath_change_minutes)

    @property
    def warm_up(self) -> timedelta:
        return timedelta(minutes=self.processor.warm_up_minutes)

    @property
    def latest(self) -> datetime | None:
        """A change that begins then is done when the free time ends."""
        return self.free.ends - self.length if self.free else None


def to_change(studio: Studio, now: datetime, processor: Processor | None = None) -> list[ToChange]:
    """Every processor, or one; as many queries however many baths there are."""
    zone = stations.zone(studio)
    machines = [processor] if processor is not None else list(stations.processors())
    rows = chemistry.baths().filter(processor__in=machines)
    baths: dict[int, Bath] = {row.pk: row for row in rows}
    lines = chemistry.standings(now, of=baths.values(), zone=zone)
    found = ahead(lines, now, zone).baths
    today = studio_day(now, zone)
    last = today + timedelta(days=DAYS)
    hours = stations.hours(studio, today, last)
    opened = hour_rules.open_around(today, last, hours, zone)
    days = [today + timedelta(days=n) for n in range(7)]
    closed = [day for day in days if not hour_rules.open_spans(day, hours, zone)]
    held = _held(Span(now, day_span(last, zone).ends), [one.resource_id for one in machines])
    begins = _on_grid(now, timedelta(minutes=studio.grid_minutes), studio)
    out = []
    for machine in machines:
        holds = held.get(machine.resource_id, [])
        mine = [
            BathNow(baths[key], line, None if line.is_empty else found.get(key))
            for line in lines
            if (key := line.of.pk) in baths and baths[key].processor_id == machine.pk
        ]
        length = timedelta(minutes=machine.bath_change_minutes)
        free = first_free(opened, [Span(one.starts, one.ends) for one in holds], length, begins)
        planned = sorted({one.starts for one in holds if one.cause == Hold.Cause.BATH_CHANGE and one.starts >= now})
        out.append(ToChange(machine, mine, free, planned, closed))
    return out


def _on_grid(now: datetime, grid: timedelta, studio: Studio) -> datetime:
    """``now`` or the next time of the house's grid after it."""
    zone = stations.zone(studio)
    local = now.astimezone(zone).replace(tzinfo=None)
    midnight = local.replace(hour=0, minute=0, second=0, microsecond=0)
    steps = -(-(local - midnight) // grid)
    return localise(midnight + steps * grid, zone)


def _held(span: Span, resources: list[int]) -> dict[int, list[Hold]]:
    """Resource id → whatever is kept at any of its places; one query."""
    out: dict[int, list[Hold]] = {}
    for hold in holds_touching(span).filter(lane__resource__in=resources).select_related("lane"):
        out.setdefault(hold.lane.resource_id, []).append(hold)
    return out


def first_free(opened: list[Span], taken: list[Span], length: timedelta, now: datetime) -> Span | None:
    """The first stretch from ``now`` on in which the house is open and nobody has the processor, if long enough.

    A bath change wants the whole processor, so a stretch counts only while all of its places are free.
    """
    coming = [Span(max(span.starts, now), span.ends) for span in opened if span.ends > now]
    return next((span for span in without(coming, taken) if span.length >= length), None)


# ---- one processor -------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Drain:
    """Where a bath goes: the stream and its containers, each with what it still takes; none: nobody has said."""

    now: BathNow
    into: list[waste.Stood] = field(default_factory=list)

    @property
    def volume_pl(self) -> int:
        return self.now.line.level_pl or self.now.line.volume_pl

    @property
    def best(self) -> waste.Stood | None:
        """The connected one if it takes all of it, else any that does."""
        able = [one for one in self.into if room_of(one) >= self.volume_pl]
        return next((one for one in able if one.content.is_connected), able[0] if able else None)

    @property
    def rooms(self) -> list[tuple[waste.Stood, int]]:
        return [(one, room_of(one)) for one in self.into]


def room_of(one: waste.Stood) -> int:
    return max(0, int(one.container.capacity_pl - one.content.level_pl))


@dataclass(frozen=True)
class ChangeGuide:
    """``order``: the baths as they are poured in, developer last, so that no fixer can splash into it."""

    change: ToChange
    drains: list[Drain]
    recipes: dict[int, list[Recipe]]
    note: Any
    steps: list[job_queries.Step]

    @property
    def mixes(self) -> list[tuple[BathNow, list[Recipe]]]:
        return [(one, self.recipes.get(one.bath.pk, [])) for one in self.order]

    @property
    def order(self) -> list[BathNow]:
        """The last bath first: in every line the developer stands at its beginning."""
        return [one for one in reversed(self.change.baths) if not one.is_water]


def change_guide(processor: Processor, studio: Studio, now: datetime, by: Member) -> ChangeGuide:
    change = to_change(studio, now, processor)[0]
    streams = {one.bath.stream_id for one in change.baths if one.bath.stream_id and not one.is_water}
    boxes = [one for one in waste.containers() if one.in_use and one.stream_id in streams] if streams else []
    stood = waste.stood(now, boxes) if boxes else []
    drains = [
        Drain(
            one, [box for box in stood if box.container.stream_id == one.bath.stream_id] if one.bath.stream_id else []
        )
        for one in change.baths
        if not one.is_water
    ]
    return ChangeGuide(
        change,
        drains,
        _recipes([one.bath.pk for one in change.baths]),
        safety.current_note(processor),
        job_queries.steps(processor, Job.Occasion.BATH_CHANGE, None, by),
    )


def _recipes(baths: list[int]) -> dict[int, list[Recipe]]:
    """Bath id → the recipes in use from which it was filled before; one query."""
    rows = Recipe.objects.filter(in_use=True, mixes__entries__bath__in=baths, mixes__entries__event="refill")
    out: dict[int, list[Recipe]] = {}
    for recipe in rows.annotate(into=F("mixes__entries__bath")).order_by("name", "pk").distinct():
        out.setdefault(recipe.into, []).append(recipe)
    return out
