"""Classes as the desk sees them: who comes when, and whether the baths carry it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from django.db.models import IntegerField, OuterRef, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from studiodesk.bookings.models import Visit
from studiodesk.chemistry.models import SheetSize
from studiodesk.chemistry.rules.standing import Standing
from studiodesk.classes.models import Course, Meeting, OutlinePaper, Place, Seat
from studiodesk.planning import words
from studiodesk.planning.rules.class_asks import verdict
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Processor, Station, Studio
from studiodesk.timekeeping import day_span

from .ahead import Ahead

#: The desk looks so far ahead.
NEAR = timedelta(days=7)
ORDER = ("change", "tired", "carries", "no limit")


@dataclass(frozen=True)
class BathAsked:
    """One bath and what a class asks of it, as it was reckoned last.  ``change_at``: a change is planned before it."""

    line: Standing
    ask: Mapping[str, Any]
    today: date
    change_at: datetime | None = None

    @property
    def verdict(self) -> str:
        if self.change_at is not None:
            return "carries"
        return verdict(1.0 if self.line.used >= 1 else self.ask["chance"], self.ask["used"])

    @property
    def begins(self) -> datetime:
        return datetime.fromisoformat(self.ask["starts"])

    @property
    def matters(self) -> bool:
        """It should be changed before the class."""
        return self.verdict in {"change", "tired"}

    @property
    def said(self) -> str:
        return words.ask_words(self.ask, self.verdict, self.today)

    @property
    def jug(self) -> str:
        return words.jug_words(self.ask["replenisher_pl"])


@dataclass(frozen=True)
class ClassAtDesk:
    """One date of a class.  ``booked``: heads with a place; ``here``: lines of it in the roll-call now."""

    meeting: Meeting
    booked: int
    here: int
    baths: list[BathAsked] = field(default_factory=list)

    @property
    def pk(self) -> int:
        return self.meeting.pk

    @property
    def course(self) -> Course:
        return self.meeting.course

    @property
    def heads(self) -> int:
        hire = getattr(self.course, "hire", None)
        return int(hire.heads) if hire is not None else self.booked

    @property
    def trouble(self) -> list[BathAsked]:
        return [one for one in self.baths if one.matters]

    @property
    def mm2(self) -> int:
        """What it is expected to put through, mm²: of each processor once."""
        return sum({one.line.processor: one.ask["mm2"] for one in self.baths}.values())

    @property
    def signature(self) -> tuple[object, ...]:
        stay = self.meeting.stay
        asked = [(one.line.of.pk, one.verdict, round(one.ask["used"] or 0, 2)) for one in self.baths]
        return self.pk, stay.starts, stay.ends, self.course.tutor_id, self.heads, self.here, asked


def dates_between(starts: datetime, ends: datetime) -> QuerySet[Meeting]:
    """Dates that stand and touch that time, by start, with ``booked`` and ``here``; one query."""
    seats = Place.objects.filter(course=OuterRef("course"), state=Place.State.BOOKED).order_by().values("course")
    inside = Visit.objects.filter(group=OuterRef("stay"), left_at__isnull=True).order_by().values("group")
    rows = Meeting.objects.filter(stay__cancelled_at__isnull=True, stay__starts__lt=ends, stay__ends__gt=starts)
    return (
        rows.exclude(course__decided=Course.Decided.OFF)
        .select_related("stay", "course__tutor", "course__hire", "course__outline")
        .annotate(
            booked=_number(seats.annotate(heads=Sum("heads")).values("heads")),
            here=_number(inside.annotate(heads=Sum("heads")).values("heads")),
        )
        .order_by("stay__starts", "pk")
    )


def _number(rows: QuerySet[Any, Any]) -> Coalesce:
    return Coalesce(Subquery(rows[:1], output_field=IntegerField()), 0)


def asked_of(found: Iterable[Ahead], changes: Iterable[tuple[str, datetime]] = ()) -> dict[int, list[BathAsked]]:
    """Stay → what is asked of each bath, the worst first; a change that is planned before the class counts.

    ``found``: baths with what is foretold of them; ``changes``: as ``bath_changes_ahead`` has them.
    """
    planned = sorted(changes, key=lambda one: one[1])
    out: dict[int, list[BathAsked]] = {}
    for one in found:
        for ask in one.row.classes:
            out.setdefault(ask["stay"], []).append(_with_change(BathAsked(one.line, ask, one.today), planned))
    for many in out.values():
        many.sort(key=lambda one: (ORDER.index(one.verdict), -(one.ask["used"] or 0)))
    return out


def _with_change(one: BathAsked, planned: Iterable[tuple[str, datetime]]) -> BathAsked:
    """A change that is over before the class begins and that this tank is not the outcome of."""
    since = one.line.since
    own = [at for code, at in planned if code == one.line.processor and at <= one.begins]
    fits = [at for at in own if since is None or at > since]
    return BathAsked(one.line, one.ask, one.today, fits[0]) if one.matters and fits else one


def next_asked(asked: Mapping[int, list[BathAsked]], now: datetime) -> dict[int, BathAsked]:
    """Bath id → the next class that it should be changed before, else the next class at all."""
    out: dict[int, BathAsked] = {}
    rows = [one for many in asked.values() for one in many if one.verdict != "no limit"]
    for one in sorted(rows, key=lambda one: (not one.matters, one.begins)):
        if datetime.fromisoformat(one.ask["ends"]) > now:
            out.setdefault(one.line.of.pk or 0, one)
    return out


def classes_at_desk(now: datetime, asked: Mapping[int, list[BathAsked]]) -> list[ClassAtDesk]:
    """What is on or comes within a week, the soonest first."""
    rows = dates_between(now, now + NEAR).exclude(course__sort="room kept")
    return [_row(row, asked) for row in rows]


@dataclass(frozen=True)
class GroupLine:
    """One date on the door sheet.  ``heads``: (name, who answers for them if they have no account) of each seat;
    ``stations``: the names of what is kept for it.
    """

    at_desk: ClassAtDesk
    heads: list[tuple[Seat, str]]
    stations: list[str]


def groups_on(day: date, studio: Studio) -> list[GroupLine]:
    """The classes and groups of a day with a line for each head; four queries at most."""
    span = day_span(day, stations.zone(studio))
    rows = [_row(row, {}) for row in dates_between(span.starts, span.ends).exclude(course__sort="room kept")]
    if not rows:
        return []
    seats: dict[int, list[tuple[Seat, str]]] = {}
    wanted = Seat.objects.filter(course__in=[row.course.pk for row in rows], place__state=Place.State.BOOKED)
    for seat in wanted.select_related("place__member").order_by("course", "place", "number"):
        of = seat.place.member.name if seat.place.member is not None else seat.place.name
        seats.setdefault(seat.course_id, []).append((seat, of))
    kept: dict[int, list[str]] = {}
    theirs = Station.objects.filter(resource__lanes__holds__group__in=[row.meeting.stay_id for row in rows])
    for stay, name in theirs.order_by("pk").values_list("resource__lanes__holds__group", "name"):
        if stay is not None and name not in kept.setdefault(stay, []):
            kept[stay].append(name)
    return [GroupLine(row, seats.get(row.course.pk, []), kept.get(row.meeting.stay_id, [])) for row in rows]


def _row(row: Any, asked: Mapping[int, list[BathAsked]]) -> ClassAtDesk:
    booked = row.tally if row.course.drop_in else row.booked
    return ClassAtDesk(row, booked, row.here, asked.get(row.stay_id, []))


def class_at_desk(meeting: Meeting, asked: Mapping[int, list[BathAsked]]) -> ClassAtDesk:
    """One date, whenever it is."""
    stay = meeting.stay
    return _row(dates_between(stay.starts, stay.ends).get(pk=meeting.pk), asked)


# ---- the paper of one date ------------------------------------------------------------------------------------------


def processors_of(meeting: Meeting) -> list[Processor]:
    """The processors that a class has places at; without any those of its process."""
    kept = stations.processors().filter(resource__lanes__holds__group=meeting.stay_id).distinct().order_by("pk")
    found = list(kept)
    if found or meeting.stay.process_id is None:
        return found
    return list(stations.processors().filter(process=meeting.stay.process_id).order_by("pk"))


def usual_sheets(meeting: Meeting, sizes: Iterable[SheetSize], heads: int) -> dict[int, int]:
    """Size → how many sheets of it so many heads put through as the outline has it."""
    if meeting.course.outline_id is None:
        return {}
    papers = {_edges(row.width_mm, row.height_mm): row.sheets_a_head for row in _papers(meeting.course.outline_id)}
    out = {}
    for size in sizes:
        a_head = papers.get(_edges(size.width_mm, size.length_mm))
        if a_head is not None:
            out[size.pk] = a_head * max(heads, 1)
    return out


def _papers(outline: int) -> QuerySet[OutlinePaper]:
    return OutlinePaper.objects.filter(outline=outline)


def _edges(one: int, other: int) -> tuple[int, int]:
    return (one, other) if one <= other else (other, one)
