"""The day as wedges and lines, in a number of queries that does not depend on how much is booked."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations import rules as house_rules
from studiodesk.stations.models import Processor, Station, Studio
from studiodesk.timekeeping import Span, day_span

from ..models import Hold
from ..rules.day import DayLine, Held, Wedge, booked_pieces, drawn_span, processor_stretches, station_stretches, wedge
from ..words.waiting import kept_words
from .touching import holds_touching


@dataclass(frozen=True)
class DayView:
    """A whole day.  ``drawn`` is None on a day with neither opening hours nor anything held."""

    day: date
    opened: list[Span]
    closed_because: str | None
    drawn: Span | None
    wedges: list[Wedge]


@dataclass(frozen=True)
class KindDay:
    """One kind of station on one day: its lines, and those of the processors that serve it."""

    day: date
    kind: str
    stations: list[Station]
    opened: list[Span]
    drawn: Span | None
    lines: list[DayLine]
    processor_lines: list[DayLine]


def _what(hold: Hold, member: Member | None) -> str:
    if hold.cause == Hold.Cause.BOOKING:
        mine = hold.booking is not None and member is not None and hold.booking.member_id == member.pk
        if mine:
            return "yours"
        return "kept" if hold.booking is not None and hold.booking.offered_until is not None else "taken"
    if hold.cause == Hold.Cause.CLASS:
        return "class"
    return "out of service"


def _pieces(hold: Hold, member: Member | None) -> list[Held]:
    """A hold as it is drawn for this member or a stranger.  Only whoever runs the house reads whose it is."""
    runs_the_house = member is not None and member.may_run_the_house
    span, what = Span(hold.starts, hold.ends), _what(hold, member)
    if hold.group is not None:
        title = hold.group.title if hold.group.shows_title or runs_the_house else ""
        return booked_pieces(span, Span(hold.group.starts, hold.group.ends).clipped_to(span) or span, what, title)
    if hold.booking is None:
        return [Held(span, what, hold.reason)]
    label = hold.booking.member.name if runs_the_house and what != "yours" else ""
    if hold.booking.offered_until is not None:
        label = kept_words(hold.booking.offered_until, yours=what == "yours", name=label)
    key = str(hold.booking_id) if what == "yours" or runs_the_house else None
    shown = Span(hold.booking.starts, hold.booking.ends).clipped_to(span) or span
    return booked_pieces(span, shown, what, label, key)


def _held(
    day: Span, member: Member | None, resource_ids: Sequence[int] | None = None
) -> dict[int, dict[int, list[Held]]]:
    """Resource id → lane number → what is held there, in one query."""
    rows = holds_touching(day).select_related("booking", "group", "lane").order_by("starts", "pk")
    if member is not None and member.may_run_the_house:
        rows = rows.select_related("booking__member", "group", "lane")
    if resource_ids is not None:
        rows = rows.filter(lane__resource_id__in=resource_ids)
    out: dict[int, dict[int, list[Held]]] = defaultdict(lambda: defaultdict(list))
    for hold in rows:
        out[hold.lane.resource_id][hold.lane.number] += _pieces(hold, member)
    return out


def _opening(day: date, studio: Studio) -> tuple[list[Span], str | None]:
    hours = stations.hours(studio, day, day)
    return house_rules.open_spans(day, hours, stations.zone(studio)), hours.closed_because(day)


def day_view(day: date, member: Member | None, studio: Studio) -> DayView:
    """One step wedge for each kind of station; a stranger (None) may see it too, for it names nobody."""
    whole = day_span(day, stations.zone(studio))
    opened, closed_because = _opening(day, studio)
    many = list(Station.objects.order_by("pk"))
    held = _held(whole, member, [station.resource_id for station in many])
    per_kind: dict[str, list[list[Span]]] = defaultdict(list)
    for station in many:
        per_kind[station.kind].append([h.span for h in held[station.resource_id][1]])
    drawn = drawn_span(opened, [span for kind in per_kind.values() for one in kind for span in one], whole)
    wedges = [wedge(kind, drawn, opened, taken) for kind, taken in per_kind.items()] if drawn else []
    return DayView(day, opened, closed_because, drawn, wedges)


def kind_day(
    day: date, kind: str, member: Member, studio: Studio, now: datetime, *, past_shown: bool = False
) -> KindDay:
    """The lines of one kind's stations and of the processors of their processes."""
    whole = day_span(day, stations.zone(studio))
    opened, _ = _opening(day, studio)
    many = list(stations.stations().filter(kind=kind))
    wanted = {process.pk for station in many for process in station.processes.all()}
    machines = list(stations.processors().filter(process_id__in=wanted)) if wanted else []
    held = _held(whole, member, [*(s.resource_id for s in many), *(m.resource_id for m in machines)])
    everything = [h.span for lanes in held.values() for lane in lanes.values() for h in lane]
    drawn = drawn_span(opened, everything, whole)
    if drawn is None:
        return KindDay(day, kind, many, opened, None, [], [])
    lines = [
        DayLine(
            station.code,
            station.name,
            station.kind,
            note_of(station),
            station_stretches(drawn, opened, held[station.resource_id][1], now, past_shown=past_shown),
        )
        for station in many
    ]
    processor_lines = [
        DayLine(
            machine.code,
            machine.name,
            "processor",
            machine.process.name,
            processor_stretches(drawn, opened, _lanes(machine, held), now, past_shown=past_shown),
        )
        for machine in machines
    ]
    return KindDay(day, kind, many, opened, drawn, lines, processor_lines)


def _lanes(machine: Processor, held: dict[int, dict[int, list[Held]]]) -> list[list[Held]]:
    return [held[machine.resource_id][number + 1] for number in range(machine.booths_at_once)]


def note_of(station: Station) -> str:
    """What a station is good for, in one line: light source and formats."""
    parts = [station.light_source, ", ".join(str(one) for one in station.formats)]
    return ", ".join(part for part in parts if part)
