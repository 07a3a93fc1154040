"""Classes as the forecast takes them: the dates to come with what they use, and what earlier ones teach."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Count, F, Q, QuerySet, Sum

from studiodesk.bookings.models import Hold
from studiodesk.chemistry.queries import reckoning
from studiodesk.classes.models import Attendance, Course, Meeting, OutlinePaper, Place
from studiodesk.classes.rules.dates import PaperNeed, paper_area
from studiodesk.stations.models import Processor
from studiodesk.timekeeping import Span

from ..rules.classes import Ahead, Behind, Filled, Habits, habits, planned
from ..rules.values import HORIZON_DAYS, Planned

#: Older classes teach nothing any more: outlines and people change.
TAUGHT_BY = timedelta(days=400)


@dataclass(frozen=True)
class ClassesKnown:
    """What a forecast made at a moment may know of classes.  ``kept``: hours of places that groups have, by day."""

    ahead: list[Ahead] = field(default_factory=list)
    habits: Habits = field(default_factory=Habits)
    planned: list[Planned] = field(default_factory=list)
    kept: Mapping[tuple[int, date], float] = field(default_factory=dict)


def classes_known(at: datetime, *, live: bool, zone: ZoneInfo) -> ClassesKnown:
    """Two queries where nothing is taught; eight at most.  ``live``: ``at`` is now.

    Looking back, what was announced, booked and called off by then counts; to which time a class was moved later does
    not: it stands where it stands now.
    """
    rows = list(_meetings(at))
    kept = _kept(at, zone)
    if not rows:
        return ClassesKnown(kept=kept)
    papers = _papers({row.course.outline_id for row in rows if row.course.outline_id is not None})
    fed = _fed([row.stay_id for row in rows], at, live)
    places = _places({row.course_id for row in rows}, at)
    coming = [row for row in rows if row.stay.ends > at and papers.get(row.course.outline_id or 0)]
    over = [row for row in rows if row.stay.ends <= at]
    known = habits(_behind(over, papers, fed, places), _filled(over, places))
    machines = _machines(coming)
    ahead = [_ahead(row, papers, machines, fed, places, at, over) for row in coming]
    return ClassesKnown(ahead, known, planned(ahead, known, at), kept)


def _meetings(at: datetime) -> QuerySet[Meeting]:
    """Dates that stood at ``at``, from those that still teach something to the end of the horizon, by start."""
    stood = Q(stay__cancelled_at__isnull=True) | Q(stay__cancelled_at__gt=at)
    goes = ~Q(course__decided=Course.Decided.OFF) | Q(course__decided_at__gt=at)
    near = Q(stay__starts__gt=at - TAUGHT_BY, stay__starts__lt=at + timedelta(days=HORIZON_DAYS + 1))
    rows = Meeting.objects.filter(stood & goes & near, course__made_at__lte=at, course__outline__papers__isnull=False)
    return rows.select_related("stay", "course", "course__hire").distinct().order_by("stay__starts", "pk")


def _papers(outlines: set[int]) -> dict[int, int]:
    """Outline → mm² that one head is expected to put through at one date."""
    found: dict[int, list[PaperNeed]] = defaultdict(list)
    for row in OutlinePaper.objects.filter(outline__in=outlines):
        found[row.outline_id].append(PaperNeed(row.width_mm, row.height_mm, row.sheets_a_head))
    return {outline: paper_area(many, 1) for outline, many in found.items()}


def _fed(stays: list[int], at: datetime, live: bool) -> dict[int, dict[int, int]]:
    """Stay → processor → mm² that were logged for it by then."""
    feeds = reckoning.feeds_known(None if live else at, trust_files=True).filter(group__in=stays, fed_at__lte=at)
    out: dict[int, dict[int, int]] = defaultdict(dict)
    rows = feeds.order_by().values_list("group", "processor").annotate(area=Sum(F("sheet_area_mm2") * F("sheets")))
    for stay, processor, area in rows:
        out[stay][processor] = area
    return out


def _places(courses: set[int], at: datetime) -> dict[int, list[Place]]:
    """Course → its places that were booked by then and had not ended."""
    out: dict[int, list[Place]] = defaultdict(list)
    rows = Place.objects.filter(course__in=courses, booked_at__lte=at)
    for row in rows.filter(Q(ended_at__isnull=True) | Q(ended_at__gt=at)).order_by("pk"):
        out[row.course_id].append(row)
    return out


def _seats(row: Meeting, places: Mapping[int, list[Place]]) -> int:
    """Heads that are to come: those with a place, of a group that hires what it said, of a drop-in its tally."""
    if hire := getattr(row.course, "hire", None):
        return int(hire.heads)
    return row.tally if row.course.drop_in else sum(place.heads for place in places.get(row.course_id, ()))


def _behind(
    over: list[Meeting],
    papers: Mapping[int, int],
    fed: Mapping[int, Mapping[int, int]],
    places: Mapping[int, list[Place]],
) -> list[Behind]:
    ticked = Attendance.objects.filter(meeting__in=[row.pk for row in over], came_at__isnull=False)
    came = dict(ticked.order_by().values_list("meeting").annotate(heads=Count("pk"))) if over else {}
    return [
        Behind(
            outline=row.course.outline_id or 0,
            seats=_seats(row, places),
            came=row.tally if row.course.drop_in else came.get(row.pk),
            head_mm2=papers.get(row.course.outline_id or 0, 0),
            fed_mm2=sum(fed[row.stay_id].values()) if row.stay_id in fed else None,
        )
        for row in over
    ]


def _filled(over: Iterable[Meeting], places: Mapping[int, list[Place]]) -> list[Filled]:
    """How each course that has begun filled up; of several dates the first counts."""
    found: dict[int, Filled] = {}
    for row in over:
        if row.course_id in found or row.course.drop_in or getattr(row.course, "hire", None):
            continue
        taken = [
            ((row.stay.starts - place.booked_at).total_seconds() / 86_400, place.heads)
            for place in places.get(row.course_id, ())
            if place.booked_at is not None
        ]
        found[row.course_id] = Filled(row.course.heads_most, taken)
    return list(found.values())


def _machines(coming: Iterable[Meeting]) -> dict[int, dict[int, float]]:
    """Stay → processor → share: by the places that it has; one that keeps none may go to any of its process."""
    stays = {row.stay_id: row.stay.process_id for row in coming}
    places: dict[int, dict[int, int]] = defaultdict(dict)
    lanes = Hold.objects.filter(group__in=list(stays), lane__resource__processor__isnull=False).order_by()
    rows = lanes.values_list("group", "lane__resource__processor").annotate(places=Count("lane", distinct=True))
    for stay, processor, number in rows:
        places[stay][processor] = number
    every: dict[int, list[int]] = defaultdict(list)
    for pk, process in Processor.objects.values_list("pk", "process").order_by("pk"):
        every[process].append(pk)
    out = {}
    for stay, process in stays.items():
        own = places.get(stay) or dict.fromkeys(every.get(process or 0, ()), 1)
        out[stay] = {processor: number / sum(own.values()) for processor, number in own.items()}
    return out


def _ahead(
    row: Meeting,
    papers: Mapping[int, int],
    machines: Mapping[int, dict[int, float]],
    fed: Mapping[int, Mapping[int, int]],
    places: Mapping[int, list[Place]],
    at: datetime,
    over: Iterable[Meeting],
) -> Ahead:
    course = row.course
    booked, most, least = _seats(row, places), course.heads_most, 0
    if hasattr(course, "hire"):
        most = booked
    elif course.drop_in:
        booked = most = max(row.tally, _drop_ins(course, over))
    elif course.decide_at is not None and course.decide_at > at:
        least = course.heads_least
    return Ahead(
        stay=row.stay_id,
        outline=course.outline_id or 0,
        starts=row.stay.starts,
        ends=row.stay.ends,
        booked=booked,
        most=max(most, booked),
        head_mm2=papers[course.outline_id or 0],
        machines=machines.get(row.stay_id, {}),
        least=least,
        fed=fed.get(row.stay_id, {}),
        title=course.title,
    )


def _drop_ins(course: Course, over: Iterable[Meeting]) -> int:
    """Heads that come without a place: as many as at the earlier ones by that outline; before the first, half."""
    tallies = [one.tally for one in over if one.course.outline_id == course.outline_id and one.tally]
    return round(sum(tallies) / len(tallies)) if tallies else -(-course.heads_most // 2)


def _kept(at: datetime, zone: ZoneInfo) -> dict[tuple[int, date], float]:
    """(processor, local day) → hours of its places that groups have from ``at`` on."""
    of_groups = Hold.objects.filter(cause=Hold.Cause.CLASS, lane__resource__processor__isnull=False, ends__gt=at)
    out: dict[tuple[int, date], float] = defaultdict(float)
    stood = of_groups.filter(group__made_at__lte=at)
    for processor, starts, ends in stood.values_list("lane__resource__processor", "starts", "ends"):
        span = Span(max(starts, at), ends)
        out[processor, span.starts.astimezone(zone).date()] += span.length.total_seconds() / 3600
    return dict(out)
