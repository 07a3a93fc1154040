"""Groups that keep something which goes out of service in their time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from studiodesk.stations.models import Resource
from studiodesk.timekeeping import Span

from ..models import GroupStay, Hold, Outage
from ..rules import outages as out_rules
from .groups import GroupWish, Needed
from .outages import Thing, resource_ids, thing_of
from .touching import holds_touching


@dataclass(frozen=True)
class GroupHit:
    """``thing``: a station or a processor that this group has and that is out of service then."""

    stay: GroupStay
    thing: Thing

    @property
    def key(self) -> str:
        """What a form names it by."""
        return f"{self.stay.pk}-{self.thing.resource_id}"


def group_of_letter(pk: int | None) -> GroupStay:
    """The group that a letter is about."""
    return GroupStay.objects.get(pk=pk)


def groups_hit(resources: Sequence[int], span: Span, now: datetime) -> list[GroupHit]:
    """Groups that keep one of ``resources`` within ``span`` and are not over, by start; one query."""
    coming = out_rules.still_to_come(span, now)
    if coming is None or not resources:
        return []
    rows = holds_touching(coming).filter(lane__resource__in=list(resources), group__isnull=False, group__ends__gt=now)
    of = ("group", "lane__resource__station", "lane__resource__processor")
    found: dict[tuple[int, int], GroupHit] = {}
    for hold in rows.select_related(*of).order_by("group__starts", "group_id", "lane__resource_id"):
        if hold.group is not None:
            thing = thing_of(hold.lane.resource)
            found.setdefault((hold.group.pk, thing.resource_id), GroupHit(hold.group, thing))
    return list(found.values())


def groups_hit_by(outage: Outage, now: datetime) -> list[GroupHit]:
    """The groups whose things this outage takes and that still keep them."""
    return groups_hit(resource_ids(outage), Span(outage.starts, outage.ends), now)


def instead_of(stay: GroupStay, resource: Resource, now: datetime) -> GroupWish | None:
    """What would stand in for a thing that a group has, from now on; None once the group is over."""
    starts = max(stay.starts, now)
    if starts >= stay.ends:
        return None
    before = timedelta(0) if stay.starts <= now else timedelta(minutes=stay.before_minutes)
    after = timedelta(minutes=stay.after_minutes)
    if resource.sort == "station":
        station = resource.station
        does = stay.process is not None and station.processes.filter(pk=stay.process_id).exists()
        need = Needed(station.kind, stay.process if does else None, 1)
    else:
        lanes = Hold.objects.filter(group=stay, lane__resource=resource).values("lane").distinct().count()
        need = Needed("", resource.processor.process, lanes)
    # Its people are in already, as far as rooms and the house are concerned.
    return GroupWish(Span(starts, stay.ends), 0, (need,), before, after)
