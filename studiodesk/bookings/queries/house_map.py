"""The whole house in one query: stations with their processes, processors with who has read their note, kit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Exists, F, OuterRef, Subquery

from studiodesk.people.models import Member
from studiodesk.safety.models import SafetyAcknowledgement, SafetyNote
from studiodesk.stations.models import KitItem, Process, Processor, Resource, Station

from ..rules.needs import Need, Traits, fits
from .needs import traits_of


@dataclass
class HouseMap:
    """``does``: station's key → its processes; ``unread``: keys of the processors whose note has still to be read."""

    stations: list[Station] = field(default_factory=list)
    does: dict[int, list[Process]] = field(default_factory=dict)
    machines: list[Processor] = field(default_factory=list)
    kit: list[KitItem] = field(default_factory=list)
    unread: set[int] = field(default_factory=set)

    @property
    def processes(self) -> list[Process]:
        """What stations are made for, in the studio's order."""
        found = {process.pk: process for many in self.does.values() for process in many}
        return [found[key] for key in sorted(found)]

    @property
    def bare_kinds(self) -> list[str]:
        """Kinds of station that are booked without a process, in the studio's order."""
        return list(dict.fromkeys(one.kind for one in self.stations if not self.does[one.pk]))

    def traits(self, station: Station) -> Traits:
        return traits_of(station, self.machines, self.does[station.pk])

    def made_for(self, need: Need) -> list[Station]:
        return [station for station in self.stations if not fits(self.traits(station), need)]

    def lacking(self, need: Need) -> list[tuple[Station, tuple[str, ...]]]:
        """Stations of the right sort that miss something, those that miss least first."""
        found = [(station, fits(self.traits(station), need)) for station in self.stations]
        near = [(station, points) for station, points in found if points and not {"kind", "process"} & set(points)]
        return sorted(near, key=lambda pair: len(pair[1]))

    def process(self, code: str) -> Process | None:
        return next((process for process in self.processes if process.code == code), None)

    def machines_of(self, process: Process | None) -> list[Processor] | None:
        """The processors that run it; None where none is asked."""
        return None if process is None else [one for one in self.machines if one.process_id == process.pk]


def house_map(member: Member) -> HouseMap:
    current = SafetyNote.objects.filter(processor=OuterRef("processor")).order_by("-version").values("pk")[:1]
    rows: Sequence[Any] = (
        Resource.objects.select_related("station__zone", "processor__process", "kit")
        .annotate(
            does=F("station__processes"),
            does_code=F("station__processes__code"),
            does_name=F("station__processes__name"),
            does_light=F("station__processes__light"),
            note=Subquery(current),
            note_read=Exists(SafetyAcknowledgement.objects.filter(note=OuterRef("note"), member=member)),
        )
        .order_by("pk", "does")
    )
    house = HouseMap()
    processes: dict[int, Process] = {}
    for row in rows:
        if row.sort == Resource.Sort.STATION and hasattr(row, "station"):
            if row.station.pk not in house.does:
                house.stations.append(row.station)
                house.does[row.station.pk] = []
            if row.does is not None:
                made = Process(pk=row.does, code=row.does_code, name=row.does_name, light=row.does_light)
                house.does[row.station.pk].append(processes.setdefault(row.does, made))
        elif row.sort == Resource.Sort.PROCESSOR and hasattr(row, "processor"):
            house.machines.append(row.processor)
            if row.note is not None and not row.note_read:
                house.unread.add(row.processor.pk)
        elif row.sort == Resource.Sort.KIT and hasattr(row, "kit"):
            house.kit.append(row.kit)
    house.stations.sort(key=lambda one: one.pk)
    house.machines.sort(key=lambda one: one.pk)
    house.kit.sort(key=lambda one: (one.sort, one.name, one.pk))
    return house
