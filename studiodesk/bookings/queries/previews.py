"""What somebody will get: the booking page before it is booked, and the times printed on it afterwards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from studiodesk.answers import Refusal
from studiodesk.people.models import Member
from studiodesk.stations import job_queries
from studiodesk.stations import queries as stations
from studiodesk.stations import rules as house_rules
from studiodesk.stations.models import Process, Processor, Station, Studio
from studiodesk.timekeeping import Span, studio_day

from ..models import Booking
from ..rules import asking, own
from .looking import Look, Wanted, look


@dataclass(frozen=True)
class PrintingTimes:
    """When the processor can be ready that day, and when the last sheet may go in, for one stay."""

    ready: datetime | None
    last_sheet_in: datetime


@dataclass(frozen=True)
class Preview:
    """``refusal`` says why it cannot be; ``unread`` is the processor whose safety note has to be read first."""

    station: Station
    process: Process | None
    processor: Processor | None
    span: Span
    times: PrintingTimes | None
    clear_up_ends: datetime
    refusal: Refusal | None
    unread: Processor | None
    #: every rule of the house that stands in the way; staff may set these aside
    broken: tuple[Refusal, ...] = ()
    #: what still stands in the way when they do
    otherwise: Refusal | None = None
    #: how many guests may come along, and whether an adult has to be named
    guests: int = 0
    under_age: bool = False
    #: nobody has made the processor ready yet today
    is_unopened: bool = False

    @property
    def starts(self) -> datetime:
        return self.span.starts

    @property
    def ends(self) -> datetime:
        return self.span.ends


def _times(processor: Processor, span: Span, opened: Sequence[Span]) -> PrintingTimes:
    """Ready is opening + warm-up; the last sheet goes in so that it is out by the end of the stay and by closing."""
    around = next((opening for opening in opened if opening.covers(span)), None)
    dry = timedelta(minutes=processor.dry_to_dry_minutes)
    last = span.ends - dry
    if around is None:
        return PrintingTimes(None, last)
    closing_down = timedelta(minutes=processor.closing_down_minutes)
    return PrintingTimes(
        house_rules.ready_time(around, timedelta(minutes=processor.warm_up_minutes)),
        min(last, house_rules.last_sheet_in(around.ends, dry, closing_down)),
    )


def printing_times(processor: Processor | None, span: Span, studio: Studio) -> PrintingTimes | None:
    """The two times that are printed on every booking with a process; None without one."""
    if processor is None:
        return None
    zone = stations.zone(studio)
    first, last = studio_day(span.starts, zone), studio_day(span.ends, zone)
    first -= timedelta(days=1)
    opened = house_rules.open_around(first, last, stations.hours(studio, first, last), zone)
    return _times(processor, span, opened)


def printing_times_of(bookings: Sequence[Booking], studio: Studio) -> dict[int, PrintingTimes]:
    """The same for the bookings of a day or two, by their ids; the hours are read once for all of them."""
    printed = [one for one in bookings if one.processor is not None]
    if not printed:
        return {}
    zone = stations.zone(studio)
    first = min(studio_day(one.starts, zone) for one in printed) - timedelta(days=1)
    last = max(studio_day(one.ends, zone) for one in printed)
    opened = house_rules.open_around(first, last, stations.hours(studio, first, last), zone)
    return {one.pk: _times(one.processor, Span(one.starts, one.ends), opened) for one in printed if one.processor}


def is_unopened(processor: Processor | None, span: Span, now: datetime, studio: Studio) -> bool:
    """Of a stay of today that is still to end: has nobody made its processor ready yet?  Never where it is not kept."""
    zone = stations.zone(studio)
    if processor is None or span.ends <= now or studio_day(span.starts, zone) != studio_day(now, zone):
        return False
    return bool(job_queries.not_opened([processor.pk], now, zone))


def preview(wanted: Wanted, *, now: datetime, by: Member, set_aside: bool = False) -> Preview:
    """The answer that the act would give now, without writing anything."""
    seen = look(wanted, now=now, by=by)
    answer = seen.answer(set_aside=set_aside)
    refusal = answer if isinstance(answer, Refusal) else None
    machine = seen.machines[answer.code] if isinstance(answer, asking.ProcessorFacts) else None
    likely = machine or next(iter(seen.machines.values()), None)
    unread = refusal is not None and refusal.code == "bookings.note_not_acknowledged"
    span = wanted.span
    return Preview(
        station=wanted.station,
        process=wanted.process,
        processor=likely,
        span=span,
        times=_times(likely, span, seen.house.opened) if likely else None,
        clear_up_ends=span.ends + timedelta(minutes=wanted.station.clear_up_minutes),
        refusal=refusal,
        unread=likely if unread else None,
        broken=seen.broken,
        otherwise=aside if isinstance(aside := seen.answer(set_aside=True), Refusal) else None,
        guests=seen.who.rules.number("guests"),
        under_age=_under_age(seen),
        is_unopened=is_unopened(likely, span, now, seen.studio),
    )


def _under_age(seen: Look) -> bool:
    born, day = seen.who.facts.born_on, studio_day(seen.asked.starts, seen.house.zone)
    return born is not None and own.age_on(born, day) < seen.who.rules.number("adult_age")
