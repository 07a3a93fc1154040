"""The groups that are in: how many people, and in which light they keep which room."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from studiodesk.stations.models import Processor, Station
from studiodesk.timekeeping import Span

from ..models import GroupStay, Hold


@dataclass(frozen=True)
class GroupIn:
    """``lit``: the shared rooms that it keeps, each with its light."""

    span: Span
    heads: int
    lit: tuple[tuple[int, str], ...] = ()

    def keeps_from(self, zone: int | None, light: str | None) -> bool:
        """Does it keep that room in another light?"""
        return zone is not None and light is not None and any(z == zone and lit != light for z, lit in self.lit)


def groups_touching(span: Span) -> QuerySet[GroupStay]:
    """Group stays that stand and share an instant with ``span``; one may last for weeks."""
    return GroupStay.objects.filter(cancelled_at__isnull=True, starts__lt=span.ends, ends__gt=span.starts)


def groups_in(span: Span) -> list[GroupIn]:
    """The groups within ``span``, in one query."""
    found: dict[int, GroupIn] = {}
    rows = groups_touching(span).order_by("starts", "pk")
    columns = ("pk", "starts", "ends", "heads", "zone_holds__zone_id", "zone_holds__light")
    for pk, starts, ends, heads, zone, light in rows.values_list(*columns):
        lit = found[pk].lit if pk in found else ()
        found[pk] = GroupIn(Span(starts, ends), heads, (*lit, (zone, light)) if zone is not None else lit)
    return list(found.values())


def group_at(processor: Processor, moment: datetime) -> GroupStay | None:
    """The group that has places at the processor at that moment, preparation and clear-up included; None: no one."""
    theirs = Hold.objects.filter(lane__resource=processor.resource_id, starts__lte=moment, ends__gt=moment)
    row = theirs.filter(group__isnull=False).select_related("group").order_by("lane_id").first()
    return row.group if row is not None else None


def stations_kept(stay: int) -> QuerySet[Station]:
    """The stations that a group's stay (its id) keeps, in the house's order."""
    return Station.objects.filter(resource__lanes__holds__group=stay).distinct().order_by("pk")
