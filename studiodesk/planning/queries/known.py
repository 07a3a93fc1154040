"""What was known at a moment: bookings, sheets and opening hours as the forecast's values.

What a file of the past tells counts as known when it happened: made, cancelled, arrived, fed.  What was recorded here
counts from when it was recorded.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import F, Max, Min, Q, Sum

from studiodesk.bookings.models import Booking, Hold
from studiodesk.chemistry.models import BathEntry, BathSetting
from studiodesk.chemistry.queries import reckoning
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Processor
from studiodesk.stations.rules import Hours, open_spans
from studiodesk.timekeeping import Span, day_span, merged

from ..rules.values import HORIZON_DAYS, Known, Loose, Machine, Stay
from .classes import ClassesKnown, classes_known
from .seating import seats_then

#: Seven half-lives: what is older would count less than a hundredth.
LOOK_BACK = timedelta(days=210)


def known(at: datetime, *, live: bool, zone: ZoneInfo | None = None, classes: ClassesKnown | None = None) -> Known:
    """All that a forecast made at ``at`` may use.  ``live``: ``at`` is now, and what is here is known.

    Processors that will be out of service are looked at only then: nobody wrote down when that was decided.
    """
    zone = zone or stations.zone()
    since = at - LOOK_BACK
    through = _through(at, since, live)
    processes = dict(Processor.objects.values_list("pk", "process"))
    stays, strays = _stays(at, since, live, through, processes)
    machines = _machines(at, since, live, zone)
    hours = stations.hours()
    open_hours, gone = _open_hours(since, at, hours, zone)
    loose = [*_loose(at, since, live), *strays]
    groups = classes or classes_known(at, live=live, zone=zone)
    return Known(at, zone, open_hours, gone, machines, stays, loose, groups.planned, groups.kept)


def _told(at: datetime) -> Q:
    """Bookings that were known then.  What is only kept for somebody until they answer is no booking yet."""
    told = Q(made_at__lte=at) & (Q(recorded_at__lte=at) | Q(source=Booking.Source.FILE))
    return told & Q(offered_until__isnull=True)


def _through(at: datetime, since: datetime, live: bool) -> dict[int, dict[int, tuple[int, datetime]]]:
    """Booking → processor → the area fed for it, and when the last of it."""
    feeds = reckoning.feeds_known(None if live else at, trust_files=True)
    rows = (
        feeds.filter(fed_at__lte=at, fed_at__gte=since, booking__isnull=False)
        .order_by()
        .values_list("booking", "processor")
        .annotate(area=Sum(F("sheet_area_mm2") * F("sheets")), last=Max("fed_at"))
    )
    out: dict[int, dict[int, tuple[int, datetime]]] = defaultdict(dict)
    for booking, processor, area, last in rows:
        out[booking][processor] = (area, last)
    return out


def _stays(
    at: datetime,
    since: datetime,
    live: bool,
    through: dict[int, dict[int, tuple[int, datetime]]],
    processes: dict[int, int],
) -> tuple[list[Stay], list[Loose]]:
    """The stays with what went through for them, and the sheets that went through where they do not belong."""
    stays: list[Stay] = []
    of = Booking.objects.filter(_told(at), starts__gte=since, process__isnull=False).order_by("starts", "pk")
    seats = {} if live else seats_then(of, at)
    fields = ("pk", "member", "process", "processor", "starts", "ends", "made_at", "cancelled_at")
    for pk, member, process, processor, starts, ends, made_at, cancelled_at in of.values_list(*fields):
        if cancelled_at is not None and cancelled_at > at:
            cancelled_at = None
        fed = through.get(pk, {})
        # What was fed for a stay that the house called off later still went through.
        belongs = [machine for machine in fed if cancelled_at is None and processes.get(machine) == process]
        own = {machine: fed.pop(machine)[0] for machine in belongs}
        stays.append(Stay(member, process, seats.get(pk, processor), starts, ends, made_at, cancelled_at, own))
    strays = [Loose(machine, last, area) for fed in through.values() for machine, (area, last) in fed.items()]
    return stays, strays


def _loose(at: datetime, since: datetime, live: bool) -> list[Loose]:
    """Sheets of nobody's booking; those of a class are foretold by the classes that are announced."""
    feeds = reckoning.feeds_known(None if live else at, trust_files=True)
    rows = (
        feeds.filter(fed_at__lte=at, fed_at__gte=since, booking__isnull=True, group__isnull=True, sheet_area_mm2__gt=0)
        .order_by()
        .values_list("processor", "fed_at")
        .annotate(area=Sum(F("sheet_area_mm2") * F("sheets")))
    )
    return [Loose(*row) for row in rows]


def _machines(at: datetime, since: datetime, live: bool, zone: ZoneInfo) -> list[Machine]:
    """The processors; each counts from its first tank or stay, or, if it has none, from when it was described.

    What was described with the first of all has stood there as long as there is a history: a stray sheet is no new
    beginning.
    """
    first: dict[int, datetime] = {}
    signs = [
        reckoning.entries_known(None if live else at, trust_files=True)
        .filter(event=BathEntry.Event.REFILL, at__lte=at)
        .order_by()
        .values_list("bath__processor")
        .annotate(first=Min("at")),
        # Its time, not when it was made: people book long before a new processor runs.
        Booking.objects.filter(_told(at), processor__isnull=False, starts__lte=at)
        .order_by()
        .values_list("processor")
        .annotate(first=Min("starts")),
    ]
    for rows in signs:
        for processor, moment in rows:
            first[processor] = min(moment, first.get(processor, moment))
    described = dict(BathSetting.objects.order_by().values_list("bath__processor").annotate(first=Min("entered_at")))
    sheets = reckoning.feeds_known(None if live else at, trust_files=True).filter(fed_at__lte=at)
    fed = dict(sheets.order_by().values_list("processor").annotate(first=Min("fed_at")))
    history = min([*first.values(), *fed.values()], default=None)
    earliest = min(described.values(), default=None)
    shut_before = _shut(Span(since, at), zone)
    shut = _shut(Span(at, at + timedelta(HORIZON_DAYS + 1)), zone) if live else {}
    machines = []
    for row in stations.processors():
        began = first.get(row.pk, history)
        entered = described.get(row.pk)
        if row.pk not in first and began and entered and earliest and earliest < entered <= at:
            began = min(max(began, entered), fed.get(row.pk, at))
        machines.append(
            Machine(
                pk=row.pk,
                process=row.process_id,
                places=row.booths_at_once,
                since=max(began, since) if began else None,
                shut=shut.get(row.pk, {}),
                shut_before=shut_before.get(row.pk, {}),
            )
        )
    return machines


def _shut(window: Span, zone: ZoneInfo) -> dict[int, dict[date, float]]:
    """Processor → local day → hours within ``window`` for which it is out of service, whoever has a place then."""
    places = Hold.objects.filter(lane__resource__processor__isnull=False)
    holds = places.exclude(cause__in=[Hold.Cause.BOOKING, Hold.Cause.CLASS]).filter(
        ends__gt=window.starts, starts__lt=window.ends
    )
    spans: dict[int, list[Span]] = defaultdict(list)
    for processor, starts, ends in holds.values_list("lane__resource__processor", "starts", "ends"):
        spans[processor].append(Span(max(starts, window.starts), min(ends, window.ends)))
    hours = stations.hours()
    out: dict[int, dict[date, float]] = {}
    for processor, many in spans.items():
        days: dict[date, float] = defaultdict(float)
        for span in merged(many):
            day = span.starts.astimezone(zone).date()
            while day <= span.ends.astimezone(zone).date():
                open_then = [piece.clipped_to(span) for piece in _open_on(day, hours, zone)]
                days[day] += sum(piece.length.total_seconds() / 3600 for piece in open_then if piece)
                day += timedelta(days=1)
        out[processor] = dict(days)
    return out


def _open_on(day: date, hours: Hours, zone: ZoneInfo) -> list[Span]:
    """A house that has never said when it is open is taken to be open always."""
    if hours.week or hours.closed_because(day) is not None:
        return open_spans(day, hours, zone)
    return [day_span(day, zone)]


def _open_hours(since: datetime, at: datetime, hours: Hours, zone: ZoneInfo) -> tuple[dict[date, float], float]:
    """Local day → hours open (today: still to come), and the hours of today that are over."""
    today = at.astimezone(zone).date()
    day = since.astimezone(zone).date()
    out: dict[date, float] = {}
    gone = 0.0
    while day <= today + timedelta(days=HORIZON_DAYS):
        spans = _open_on(day, hours, zone)
        total = sum(span.length.total_seconds() for span in spans) / 3600
        if day == today:
            gone = sum((min(span.ends, at) - span.starts).total_seconds() for span in spans if span.starts < at) / 3600
            total -= gone
        out[day] = total
        day += timedelta(days=1)
    return out, gone
