"""What is out of service, who is hit by it, and what of it waits for the desk."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db.models import CharField, Count, F, IntegerField, Max, Min, OuterRef, Q, QuerySet, Subquery, Value
from django.db.models.functions import Coalesce
from django.utils import timezone

from studiodesk.bookings import queries as bookings
from studiodesk.bookings.models import Booking, FaultReport, Outage
from studiodesk.bookings.rules import faults
from studiodesk.bookings.words.outages import CAUSES, fault_words
from studiodesk.chemistry import queries as chemistry
from studiodesk.journal.models import ChoreLease, Notice
from studiodesk.people.models import Member
from studiodesk.stations import rules as house_rules
from studiodesk.stations.models import KitItem, Processor, Resource, Station, Studio
from studiodesk.timekeeping import Span

#: For so many hit bookings moves are looked for at once; the others come when these are settled.
AT_ONCE = 12

Thing = Station | Processor | KitItem


@dataclass(frozen=True)
class Out:
    """Something that is out of service: an outage, or a closure from before there were any (then without a page)."""

    things: list[Thing]
    starts: datetime
    ends: datetime
    reason: str
    cause: str
    outage: Outage | None = None
    hits: int = 0

    @property
    def is_one_day(self) -> bool:
        return timezone.localtime(self.starts).date() == timezone.localtime(self.ends).date()

    @property
    def names(self) -> str:
        return ", ".join(thing.name for thing in self.things)

    @property
    def cause_words(self) -> str:
        return str(CAUSES.get(self.cause, self.cause))

    @property
    def service(self) -> str:
        return self.outage.service.name if self.outage is not None and self.outage.service is not None else ""

    @property
    def keyed(self) -> list[tuple[str, Thing]]:
        """Each thing with the key that a form names it by."""
        return [(bookings.thing_key(thing), thing) for thing in self.things]


def out_of(outage: Outage, hits: int = 0) -> Out:
    things = [bookings.thing_of(resource) for resource in outage.resources.all()]
    return Out(things, outage.starts, outage.ends, outage.reason, outage.cause, outage, hits)


def out_of_service(now: datetime) -> list[Out]:
    """What is out of service now or later, soonest first."""
    hits = {one.pk: one.hits for one in bookings.unsettled(now)}
    found = [out_of(outage, hits.get(outage.pk, 0)) for outage in bookings.outages_ahead(now)]
    return sorted([*found, *_old_closures(now)], key=lambda out: (out.starts, out.names))


def _old_closures(now: datetime) -> list[Out]:
    """The day-long pieces of each put together; every place of a processor says the same."""
    found: list[Out] = []
    for hold in bookings.closures_without_outage(now):
        thing = bookings.thing_of(hold.lane.resource)
        last = found[-1] if found else None
        if last and last.things == [thing] and hold.starts <= last.ends and last.reason == hold.reason:
            found[-1] = Out([thing], last.starts, max(last.ends, hold.ends), hold.reason, hold.cause)
        else:
            found.append(Out([thing], hold.starts, hold.ends, hold.reason, hold.cause))
    return found


@dataclass(frozen=True)
class Fault:
    """A report as a page shows it."""

    row: FaultReport

    @property
    def thing(self) -> Thing:
        return bookings.thing_of(self.row.resource)

    @property
    def key(self) -> str:
        return bookings.thing_key(self.thing)

    @property
    def what(self) -> str:
        return fault_words(*faults.read(self.row.what))

    @property
    def is_danger(self) -> bool:
        return faults.is_danger(self.row.what)


@dataclass(frozen=True)
class HitList:
    """Bookings that cannot stay with their moves, how many more there are, and what became of the others."""

    hits: list[bookings.Hit]
    more: int = 0
    became: list[Booking] = field(default_factory=list)

    @property
    def can_move(self) -> int:
        return sum(hit.best is not None for hit in self.hits)

    @property
    def count(self) -> int:
        return len(self.hits) + self.more


def hit_list(
    found: Sequence[Booking], studio: Studio, now: datetime, by: Member, became: Iterable[Booking] = ()
) -> HitList:
    hits = bookings.hits_with_moves(list(found[:AT_ONCE]), studio, now, by)
    return HitList(hits, max(0, len(found) - AT_ONCE), list(became))


@dataclass(frozen=True)
class OutagePage:
    out: Out
    list: HitList
    faults: list[Fault]
    is_over: bool
    groups: list[bookings.GroupHit] = field(default_factory=list)


def outage_page(outage: Outage, studio: Studio, now: datetime, by: Member) -> OutagePage:
    """One outage with whom it hits, where they could go, and what became of those who are not hit any more."""
    found = bookings.hits_of(outage, now)
    rows = FaultReport.objects.filter(outage=outage).select_related(
        "resource__station", "resource__processor", "resource__kit", "reported_by", "tablet"
    )
    groups = bookings.groups_hit_by(outage, now)
    hits = hit_list(found, studio, now, by, bookings.became(outage, found))
    return OutagePage(out_of(outage, len(found)), hits, [Fault(row) for row in rows], outage.ends <= now, groups)


def fault_page(member: Member, pk: int) -> Fault:
    return Fault(bookings.access_fault(member, pk))


def known_faults(resource: Resource) -> list[Fault]:
    """What somebody has said of this thing already, and nobody has settled."""
    return [Fault(row) for row in bookings.faults_of(resource)]


# ---- what waits for the desk ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class OutTask:
    """Bookings that an outage hits ("outage"), or a report that nobody has looked at ("fault")."""

    kind: str
    pk: int
    name: str
    at: datetime
    said: str
    hits: int = 0
    is_danger: bool = False


@dataclass(frozen=True)
class OutTasks:
    """``by_hours``: how many bookings lie outside of the house's hours; ``letters``: how many could not be sent;
    ``checked``: when the timer last looked at every bath; ``changes``: bath changes that are planned, by processor."""

    tasks: list[OutTask]
    by_hours: int = 0
    letters: int = 0
    checked: datetime | None = None
    changes: tuple[tuple[str, datetime], ...] = ()

    def __bool__(self) -> bool:
        return bool(self.tasks or self.by_hours)

    def __len__(self) -> int:
        return len(self.tasks) + bool(self.by_hours)

    @property
    def signature(self) -> tuple[object, ...]:
        return tuple((one.kind, one.pk, one.hits) for one in self.tasks), self.by_hours


def _name_of(resources: QuerySet[Resource]) -> Subquery:
    named = resources.order_by("pk").annotate(one=Coalesce("station__name", "processor__name", "kit__name"))
    return Subquery(named.values("one")[:1], output_field=CharField())


def _rows(rows: QuerySet[Any], kind: str, name: Any, at: str, until: str, said: Any, hits: Any) -> QuerySet[Any, Any]:
    """The columns that everything which waits has in common here, in one order."""
    columns = {
        "task_kind": Value(kind, output_field=CharField()),
        "task_pk": F("pk"),
        "task_name": name,
        "task_at": F(at),
        "task_until": F(until),
        "task_said": said,
        "task_hits": hits,
    }
    return rows.order_by().annotate(**columns).values_list(*columns)


def out_tasks(now: datetime, studio: Studio, hours: house_rules.Hours | None = None) -> OutTasks:
    """What nobody has settled yet: dangers first, then outages by their start, then other faults; how many bookings
    lie outside of the hours, how many letters could not be sent, when the baths were looked at.  One query if
    ``hours`` are known."""
    nothing, none = Value("", output_field=CharField()), Value(0, output_field=IntegerField())
    first_thing = _name_of(Resource.objects.filter(outages=OuterRef("pk")))
    the_thing = _name_of(Resource.objects.filter(pk=OuterRef("resource")))
    outages = _rows(bookings.unsettled(now), "outage", first_thing, "starts", "ends", F("reason"), F("hits"))
    reports = bookings.open_faults(now).select_related(None)
    faults_ = _rows(reports, "fault", the_thing, "reported_at", "reported_at", F("what"), none)
    stays = _rows(bookings.stays_ahead(now), "stay", nothing, "starts", "ends", nothing, none)
    rows = list(outages.union(faults_, stays, _letters(), _checked(), _bath_changes(now), all=True))
    tasks = [_task(*row) for row in rows if row[0] in {"outage", "fault"}]
    tasks.sort(key=lambda one: (not one.is_danger, one.kind != "outage", one.at, one.pk))
    ahead = [(pk, Span(at, until)) for kind, pk, _name, at, until, _said, _hits in rows if kind == "stay"]
    letters = sum(row[-1] for row in rows if row[0] == "letters")
    checked = next((at for kind, _pk, _name, at, *_rest in rows if kind == "checked"), None)
    changes = tuple(sorted((name, until) for kind, _pk, name, _at, until, *_rest in rows if kind == "change"))
    return OutTasks(tasks, len(bookings.outside(ahead, studio, now, hours)), letters, checked, changes)


def _letters() -> QuerySet[Any, Any]:
    """One row of how many letters could not be sent; none if all were."""
    rows = Notice.objects.filter(state=Notice.State.GIVEN_UP).order_by().values("state")
    nothing = Value("", output_field=CharField())
    columns = {
        "task_kind": Value("letters", output_field=CharField()),
        "task_pk": Min("pk"),
        "task_name": nothing,
        "task_at": Min("due_at"),
        "task_until": Max("due_at"),
        "task_said": nothing,
        "task_hits": Count("pk"),
    }
    return rows.annotate(**columns).values_list(*columns)


def _checked() -> QuerySet[Any, Any]:
    """One row of when every bath was last looked at; none if that was never."""
    rows = ChoreLease.objects.filter(name=chemistry.REVIEW, last_done_at__isnull=False)
    nothing, none = Value("", output_field=CharField()), Value(0, output_field=IntegerField())
    return _rows(rows, "checked", nothing, "last_done_at", "last_done_at", nothing, none)


def _bath_changes(now: datetime) -> QuerySet[Any, Any]:
    """A row for each processor and bath change that is planned or under way."""
    nothing, none = Value("", output_field=CharField()), Value(0, output_field=IntegerField())
    planned = Q(resource__outages__cause=Outage.Cause.BATH_CHANGE, resource__outages__ends__gt=now)
    times = ("resource__outages__starts", "resource__outages__ends")
    return _rows(Processor.objects.filter(planned), "change", F("code"), *times, nothing, none)


def bath_changes_ahead(now: datetime) -> list[tuple[str, datetime]]:
    """(processor's code, when it is done) of each bath change that is planned or under way; one query."""
    return [(name, until) for _kind, _pk, name, _at, until, _said, _hits in _bath_changes(now)]


def _task(kind: str, pk: int, name: str, at: datetime, _until: datetime, said: str, hits: int) -> OutTask:
    if kind == "outage":
        return OutTask(kind, pk, name, at, said, hits)
    return OutTask(kind, pk, name, at, fault_words(*faults.read(said)), 0, faults.is_danger(said))
