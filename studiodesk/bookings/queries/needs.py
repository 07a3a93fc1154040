"""Needs and the stations that are made for them; what somebody usually comes for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from studiodesk.people.models import Member
from studiodesk.stations.models import Process, Processor, Station

from ..models import UsualNeed
from ..rules.needs import Need, Traits, fits, need_from_json


def traits_of(station: Station, machines: Iterable[Processor], does: Iterable[Process] | None = None) -> Traits:
    """What a station is made for.  ``machines``: all processors of the house; ``does``: the station's processes, asked
    for if they are not given.
    """
    widths: dict[str, int] = {}
    codes = {process.pk: process.code for process in (station.processes.all() if does is None else does)}
    for machine in machines:
        if machine.process_id in codes:
            code = codes[machine.process_id]
            widths[code] = max(widths.get(code, 0), machine.feed_width_mm)
    return Traits(
        code=station.code,
        kind=station.kind,
        formats=tuple(str(one) for one in station.formats),
        light_source=station.light_source,
        has_colour_filters=station.has_colour_filters,
        largest_print_mm=_edges(station.largest_print_mm),
        step_free=station.step_free,
        bench_height_mm=station.bench_height_mm,
        processes=frozenset(codes.values()),
        feed_widths=widths,
        zone=station.zone.name if station.zone else "",
    )


def _edges(largest: Any) -> tuple[int, int] | None:
    """A station's largest print: both edges, or the longer edge alone."""
    if not largest:
        return None
    if isinstance(largest, list):
        return min(largest), max(largest)
    return int(largest), int(largest)


def made_for(need: Need, many: Sequence[Station], machines: Sequence[Processor]) -> list[Station]:
    """The stations that meet every point of the need, in the studio's order."""
    return [station for station in many if not fits(traits_of(station, machines), need)]


def usual_need(member: Member) -> Need | None:
    """What somebody mostly comes for, if they kept it."""
    kept = UsualNeed.objects.filter(member=member).values_list("need", flat=True).first()
    return None if kept is None else need_from_json(kept)
