"""The small reads that everything else is made of: what touches a span, who has read a note, when a machine is warm."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery, TextField
from django.db.models.functions import Cast

from studiodesk.people.models import Member
from studiodesk.safety.models import SafetyAcknowledgement, SafetyNote
from studiodesk.stations import queries as stations
from studiodesk.stations import rules as house_rules
from studiodesk.stations.models import Processor, Studio
from studiodesk.timekeeping import Span, studio_day

from ..models import Booking, Hold, Outage

LONGEST_HOLD = timedelta(hours=24)
#: Somebody has it; every other cause is out of service.
TAKEN = frozenset({Hold.Cause.BOOKING, Hold.Cause.CLASS})
DESK_GRID = timedelta(minutes=5)
MARGIN_DAYS = 8


def sharing(span: Span) -> Q:
    """Of holds: those that share an instant with ``span``; bounded backwards, for no hold is longer than a day."""
    return Q(starts__lt=span.ends, starts__gt=span.starts - LONGEST_HOLD, ends__gt=span.starts)


def holds_touching(span: Span) -> QuerySet[Hold]:
    """Holds that share an instant with ``span``."""
    return Hold.objects.filter(sharing(span))


def touching(span: Span) -> Q:
    """Of bookings: those that stand (not cancelled) and share an instant with ``span``."""
    return Q(
        cancelled_at__isnull=True, starts__lt=span.ends, starts__gt=span.starts - LONGEST_HOLD, ends__gt=span.starts
    )


def bookings_touching(span: Span) -> QuerySet[Booking]:
    """Bookings that stand and share an instant with ``span``."""
    return Booking.objects.filter(touching(span))


#: Of what is read by the thousand: the columns that are moments.
MOMENTS = frozenset({"starts", "ends", "arrived_at", "released_at"})


def as_text(*columns: str) -> list[Any]:
    """For ``values_list``: moments as the database writes them, for ``moment_of`` and ``span_of``.

    Two weeks of a full house are three thousand rows of five moments, and most of them are the same few hundred: it is
    quicker to understand each once than to let every row be converted.
    """
    return [Cast(name, TextField()) if name.rsplit("__", 1)[-1] in MOMENTS else name for name in columns]


@lru_cache(maxsize=8192)
def moment_of(text: str) -> datetime:
    """SQLite keeps UTC and does not say so; PostgreSQL says its offset."""
    moment = datetime.fromisoformat(text)
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


@lru_cache(maxsize=8192)
def span_of(starts: str, ends: str) -> Span:
    return Span(moment_of(starts), moment_of(ends))


def note_facts(processors: QuerySet[Processor], member: Member) -> QuerySet[Processor]:
    """``note_read``: True if the member acknowledged the current safety note, or there is none."""
    current = SafetyNote.objects.filter(processor=OuterRef("pk")).order_by("-version").values("pk")[:1]
    return processors.annotate(
        current_note=Subquery(current),
        note_read=Exists(SafetyAcknowledgement.objects.filter(note=OuterRef("current_note"), member=member)),
    )


def has_read(processor: Any) -> bool:
    return processor.current_note is None or processor.note_read


def grid_of(studio: Studio, by: Member) -> timedelta:
    """Members book on the house's grid, whoever runs the house on five minutes."""
    return DESK_GRID if by.may_run_the_house else timedelta(minutes=studio.grid_minutes)


def opened_around(span: Span, studio: Studio, now: datetime) -> list[Span]:
    """Opening spans from the day before until a week after what is asked: enough to name the nearest."""
    zone = stations.zone(studio)
    first = (
        min(studio_day(span.starts, zone), studio_day(now, zone))
        if span.starts < now
        else studio_day(span.starts, zone)
    )
    first -= timedelta(days=1)
    last = studio_day(span.ends, zone) + timedelta(days=MARGIN_DAYS)
    return house_rules.open_around(first, last, stations.hours(studio, first, last), zone)


def warm_at(machine: Processor, now: datetime, booked: Iterable[tuple[datetime, datetime | None]]) -> datetime | None:
    """``booked`` are the day's bookings of the machine: when each starts, and when somebody signed in to it."""
    return house_rules.soonest_warm(
        now,
        timedelta(minutes=machine.warm_up_minutes),
        timedelta(minutes=machine.dry_to_dry_minutes),
        [starts for starts, arrived_at in booked if house_rules.heats(starts, arrived_at, now)],
    )


def out_spans(resources: Iterable[int], window: Span) -> dict[int, list[Span]]:
    """Resource → when outages want it within ``window``, whoever has it then."""
    rows = Outage.objects.filter(starts__lt=window.ends, ends__gt=window.starts, resources__in=list(resources))
    found: dict[int, list[Span]] = defaultdict(list)
    for resource, starts, ends in rows.values_list("resources__pk", "starts", "ends"):
        found[resource].append(Span(starts, ends))
    return found
