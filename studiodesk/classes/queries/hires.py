"""Groups that hire: which there are, what is asked for one, what is kept for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from django.db.models import Count, Max, Min, Q, QuerySet

from studiodesk.bookings.models import GroupStay
from studiodesk.bookings.queries.groups import GroupWish
from studiodesk.bookings.queries.groups_in import stations_kept
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Process, Processor, Station
from studiodesk.timekeeping import Span

from ..models import Hire
from ..rules import dates
from ..rules.hires import Group
from .courses import Need, wishes_with

#: What may be said of a kind of station or of a process instead of a number.
NEEDED, ALL = "needed", "all"
Wanted = int | str


@dataclass(frozen=True)
class AskedHire:
    """What a group wants: who they are, when, and what is kept for them.  ``papers``: (mm, mm, sheets a head)."""

    group: Group
    spans: Sequence[Span]
    needs: Sequence[Need]
    title: str = ""
    sort: str = GroupStay.Sort.HIRE
    process: Process | None = None
    heads_a_station: int = 1
    before: timedelta = timedelta(0)
    after: timedelta = timedelta(0)
    papers: Sequence[tuple[int, int, int]] = field(default=())


def wishes_of_hire(asked: AskedHire) -> list[GroupWish]:
    """What it needs at each of its times: the group, who looks after it, and one of the house."""
    group = asked.group
    is_room = asked.sort == GroupStay.Sort.ROOM
    return wishes_with(
        asked.needs,
        sorted(asked.spans),
        stations=dates.stations_for(group.heads, asked.heads_a_station),
        in_it=0 if is_room else group.heads + group.supervisors + 1,
        before=asked.before,
        after=asked.after,
    )


def needs_of(
    kinds: Mapping[str, Wanted], processes: Mapping[Process, Wanted], process: Process | None = None
) -> list[Need]:
    """Needs from what was chosen for each kind of station and each process's processors.

    ``NEEDED``: as many as the heads need.  ``ALL``: every station of the kind, whatever it does; every processor of the
    process with all its places.  ``process``: what the group does, where a station does it.
    """
    out: list[Need] = []
    for kind, wanted in kinds.items():
        many = stations.stations_of_kind(kind)
        does = {one.pk for one in many if process is not None and process in one.processes.all()}
        if wanted == ALL:
            parts: list[Need] = [(kind, process, len(does)), (kind, None, len(many) - len(does))]
            out += [part for part in parts if part[2]]
        else:
            out.append((kind, process if does else None, None if wanted == NEEDED else int(wanted)))
    for one, wanted in processes.items():
        if wanted == ALL:
            out += [("", one, 0)] * len(stations.processors_of(one))
        else:
            out.append(("", one, None if wanted == NEEDED else int(wanted)))
    return out


def wanted_of(hire: Hire) -> tuple[dict[str, Wanted], dict[Process, Wanted]]:
    """The same the other way round: what is chosen now for each kind and each process."""
    kinds: dict[str, Wanted] = {}
    processes: dict[Process, Wanted] = {}
    needs = hire.course.outline.needs.select_related("process") if hire.course.outline is not None else ()
    for need in needs:
        if not need.kind:
            processes[need.process] = NEEDED if need.number is None else need.number or ALL
        elif need.number is None:
            kinds[need.kind] = NEEDED
        else:
            kinds[need.kind] = int(kinds.get(need.kind, 0)) + need.number
    for kind, wanted in kinds.items():
        if wanted == len(stations.stations_of_kind(kind)):
            kinds[kind] = ALL
    return kinds, processes


def wishes_if_changed(hire: Hire, group: Group, needs: Sequence[Need], stays: Sequence[GroupStay]) -> list[GroupWish]:
    """What ``stays`` of this hire would need with other people or other things."""
    asked = AskedHire(
        group=group,
        spans=[Span(stay.starts, stay.ends) for stay in stays],
        needs=needs,
        sort=hire.course.sort,
        heads_a_station=hire.course.heads_a_station,
        before=timedelta(minutes=stays[0].before_minutes),
        after=timedelta(minutes=stays[0].after_minutes),
    )
    return wishes_of_hire(asked)


def hires() -> QuerySet[Hire]:
    """With ``starts`` of the first date, ``ends`` of the last, and how many ``dates`` there are."""
    rows = Hire.objects.select_related("course__outline", "course__tutor")
    return rows.annotate(
        starts=Min("course__meetings__stay__starts"),
        ends=Max("course__meetings__stay__ends"),
        dates=Count("course__meetings"),
    )


def hires_ahead(now: datetime) -> QuerySet[Hire]:
    """What has not ended, by the date that is on or comes next (``next_starts``)."""
    coming = Min("course__meetings__stay__starts", filter=Q(course__meetings__stay__ends__gt=now))
    return hires().filter(ends__gt=now).annotate(next_starts=coming).order_by("next_starts", "pk")


def hires_before(now: datetime, most: int = 20) -> QuerySet[Hire]:
    """What is over, the latest first."""
    return hires().filter(ends__lte=now).order_by("-starts", "-pk")[:most]


def access_hire(reference: str) -> Hire:
    """One by its course's reference; ``Hire.DoesNotExist`` if there is none."""
    return hires().get(course__reference=reference)


@dataclass(frozen=True)
class Kept:
    """What a stay has: its stations, and of each processor so many places."""

    stations: list[Station]
    places: list[tuple[Processor, int]]


def kept_for(stay: GroupStay) -> Kept:
    machines = Processor.objects.filter(resource__lanes__holds__group=stay).order_by("pk")
    counted = machines.annotate(places=Count("resource__lanes", distinct=True))
    return Kept(list(stations_kept(stay.pk)), [(one, one.places) for one in counted])
