"""What stands in a window of time, read once: what is held, who is in, which processor is on, in which light."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import timedelta

from studiodesk.stations.models import KitItem, Process, Processor
from studiodesk.timekeeping import Span

from ..models import Hold
from ..rules.kit import kept_span
from ..rules.places import crowded
from .finding import Seen
from .house_map import HouseMap
from .touching import as_text, holds_touching, moment_of, span_of


@dataclass
class Standing:
    """What stands in the window, by what it stands in the way of."""

    seen: Seen = field(default_factory=lambda: _nothing())
    inside: dict[int, list[Span]] = field(default_factory=dict)
    heated: dict[int, list[Span]] = field(default_factory=lambda: defaultdict(list))
    lit: dict[int, list[Span]] = field(default_factory=lambda: defaultdict(list))
    kit: dict[int, dict[int, list[Span]]] = field(default_factory=lambda: defaultdict(lambda: defaultdict(list)))

    @property
    def everybody(self) -> list[Span]:
        return [span for many in self.inside.values() for span in many]


def _nothing() -> Seen:
    return Seen(defaultdict(list), defaultdict(lambda: defaultdict(list)), defaultdict(list), defaultdict(list), [])


FIELDS = (
    "lane__resource_id",
    "lane__number",
    "starts",
    "ends",
    "cause",
    "booking_id",
    "booking__starts",
    "booking__ends",
    "booking__guests",
    "booking__processor_id",
    "booking__arrived_at",
    "booking__zone_holds__zone_id",
    "booking__zone_holds__light",
    "group_id",
    "group__starts",
    "group__ends",
    "group__heads",
    "group__zone_holds__zone_id",
    "group__zone_holds__light",
)


def standing(span: Span, house: HouseMap, process: Process | None) -> Standing:
    """Everything that is held within ``span``, and what its bookings and groups say: one query."""
    found = Standing()
    machines = {machine.resource_id: machine.pk for machine in house.machines}
    kit = {item.resource_id: item.pk for item in house.kit}
    for row in holds_touching(span).order_by("starts", "pk").values_list(*as_text(*FIELDS)):
        resource, number, starts, ends, cause, booking, begins, until, guests, machine, arrived, zone, light = row[:13]
        held = span_of(starts, ends)
        if resource in machines:
            found.seen.lanes[resource][number].append(held)
            if cause == Hold.Cause.BOOKING:
                found.seen.heated[resource].append((moment_of(begins), arrived and moment_of(arrived)))
            elif cause == Hold.Cause.CLASS:
                found.seen.heated[resource].append((held.starts, None))
                found.heated[machines[resource]].append(held)
        elif resource in kit:
            found.kit[kit[resource]][number].append(held)
        else:
            found.seen.taken[resource].append(held)
        if booking is None:
            _group_in(found, process, *row[13:])
            continue
        if booking in found.inside:
            continue
        stay = span_of(begins, until)
        found.inside[booking] = [stay] * (1 + guests)
        if machine is not None:
            found.heated[machine].append(stay)
        if zone is not None and process is not None:
            (found.lit if light == process.light else found.seen.shut)[zone].append(stay)
    return found


def _group_in(
    found: Standing,
    process: Process | None,
    group: int | None,
    begins: str,
    until: str,
    heads: int,
    room: int | None,
    light: str | None,
) -> None:
    """A group's heads and the light in which it keeps a room; one that keeps nothing is not seen, and the act knows."""
    if group is None:
        return
    stay = span_of(begins, until)
    found.inside[-group] = [stay] * heads
    if room is not None and process is not None:
        (found.lit if light == process.light else found.seen.shut)[room].append(stay)


def kit_is_free(kit: Sequence[tuple[KitItem, int]], stood: Standing, stay: Span) -> bool:
    """So many of each item are free throughout: then pieces can be woven for all of it."""
    for item, pieces in kit:
        from_end = None if item.from_end_minutes is None else timedelta(minutes=item.from_end_minutes)
        kept = kept_span(stay, from_end, timedelta(minutes=item.outlasts_minutes))
        lanes = stood.kit[item.pk]
        taken = [part for n in range(1, item.pieces + 1) for one in lanes[n] if (part := one.clipped_to(kept))]
        if pieces > item.pieces or crowded(taken, item.pieces - pieces + 1):
            return False
    return True


def two_places(machines: Sequence[Processor] | None, stood: Standing, stay: Span) -> bool:
    """Are two places at the processors free for all of the stay?  Yes where none is asked."""
    if machines is None:
        return True
    free = 0
    for machine in machines:
        lanes = stood.seen.lanes[machine.resource_id]
        places = [
            [part for one in lanes[n + 1] if (part := one.clipped_to(stay))] for n in range(machine.booths_at_once)
        ]
        taken = [one for lane in places for one in lane]
        for left in (2, 1):
            if machine.booths_at_once >= left and not crowded(taken, machine.booths_at_once - left + 1):
                free += left
                break
    return free >= 2
