"""How the baths stand, now from the running sums or at any moment from the rows: the two are equal."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from studiodesk.stations import queries as stations

from ..models import Alert, Bath, BathEntry, Fill
from ..rules import entering
from ..rules.settings import SettingsHistory
from ..rules.standing import BathName, Standing, standing
from ..rules.tank import Filling, TankState, fold
from . import reckoning
from .reckoning import Written


def baths() -> QuerySet[Bath]:
    return Bath.objects.select_related("processor__process").order_by("processor__code", "position", "pk")


def access_bath(processor: str, code: str) -> Bath:
    """One bath by its codes; ``Bath.DoesNotExist`` otherwise.  Every member may look at every bath."""
    return baths().get(processor__code=processor, code=code)


def entries_of(bath: Bath) -> QuerySet[BathEntry]:
    """What was written into a bath's book, the latest first, with what took its place.

    The note that takes an entry back is no line of its own: the entry says so.
    """
    return (
        BathEntry.objects.filter(bath=bath)
        .exclude(event=entering.NOTE, corrects__isnull=False)
        .select_related("recorded_by", "corrected_by__recorded_by")
        .order_by("-at", "-pk")
    )


def access_entry(bath: Bath, pk: int) -> BathEntry:
    return BathEntry.objects.select_related("bath__processor").get(bath=bath, pk=pk)


def before_first_filling(bath: Bath, at: datetime) -> datetime | None:
    """When the first tank that is known began, if ``at`` lies before it and nothing is recorded of an earlier one."""
    first = Fill.objects.filter(bath=bath).order_by("began_at").values_list("began_at", flat=True)
    began = list(first)
    if not began or None in began or at >= began[0]:
        return None
    return began[0]


def earlier_fills(bath: Bath) -> QuerySet[Fill]:
    """The tanks before the present one, the latest first."""
    return Fill.objects.filter(bath=bath, ended_at__isnull=False).order_by("-ended_at")


def name_of(bath: Bath) -> BathName:
    return BathName(
        processor=bath.processor.code,
        bath=bath.code,
        process=bath.processor.process.code,
        processor_name=bath.processor.name,
        name=bath.name,
        process_name=bath.processor.process.name,
        position=bath.position,
        pk=bath.pk,
    )


def standings(
    at: datetime,
    known_at: datetime | None = None,
    *,
    recount: bool = False,
    of: Iterable[Bath] | None = None,
    zone: ZoneInfo | None = None,
    trust_files: bool = False,
    alerts: Mapping[int, list[str]] | None = None,
) -> list[Standing]:
    """Every bath (or those in ``of``) as it stood at ``at``, by processor and in the order of its baths.

    The running sums answer for a moment after the last event; an earlier ``at``, a ``known_at`` or ``recount`` asks
    the rows; ``trust_files`` counts what a file tells as known when it happened.  ``alerts``: bath id → kinds that
    stand open, where they are known already.  Four queries from the sums, six from the rows, however long the
    history is.
    """
    if of is None:
        listed, known = reckoning.described(known_at)
    else:
        listed = list(of)
        known = reckoning.histories([bath.pk for bath in listed], known_at)
    if not listed:
        return []
    zone = zone or stations.zone()
    listed = [bath for bath in listed if bath.pk in known]
    states: dict[int, TankState] = {}
    if known_at is None and not recount:
        states = _from_sums(listed, at)
    missing = [bath for bath in listed if bath.pk not in states]
    if missing:
        states |= _from_rows(missing, at, known_at, known, zone, trust_files)
    kinds = _alerts([bath.pk for bath in listed], at) if alerts is None else alerts
    return [
        standing(name_of(bath), states[bath.pk], known[bath.pk], at, zone, tuple(kinds.get(bath.pk, ())))
        for bath in listed
    ]


def worst_first(lines: Iterable[Standing]) -> list[Standing]:
    """Spent before tired, then replenishment that waits, then what is used most."""
    return sorted(lines, key=lambda line: (-min(line.used, 1.0), not line.replenishment_due, -line.used))


def _from_sums(listed: list[Bath], at: datetime) -> dict[int, TankState]:
    """Bath id → state, for the baths whose sums hold at ``at`` because nothing is recorded after it."""
    fills: dict[int, Fill] = {}
    for fill in Fill.objects.filter(bath__in=listed, ended_at=None):
        fills[fill.bath_id] = fill
    states = {}
    for bath in listed:
        fill = fills.get(bath.pk)
        times = [moment for moment in (fill.began_at, fill.last_event_at) if moment] if fill else []
        if all(moment <= at for moment in times):
            states[bath.pk] = reckoning.state_of(fill)
    return states


def _from_rows(
    listed: list[Bath],
    at: datetime,
    known_at: datetime | None,
    known: dict[int, SettingsHistory],
    zone: ZoneInfo,
    trust_files: bool,
) -> dict[int, TankState]:
    """Bath id → state, recounted from every row up to ``at``, its very instant included."""
    since: dict[int, datetime] = {}
    filled: dict[int, Filling] = {}
    entries: dict[int, list[Written]] = defaultdict(list)
    rows = list(reckoning.entries_known(known_at, trust_files=trust_files).filter(bath__in=listed, at__lte=at))
    for row in rows:
        if row.event == entering.REFILL and row.at >= since.get(row.bath_id, row.at):
            since[row.bath_id], filled[row.bath_id] = row.at, reckoning.filling_of(row)
    for row in rows:
        if row.event != entering.REFILL and (row.bath_id not in since or row.at >= since[row.bath_id]):
            entries[row.bath_id].append(reckoning.written_entry(row))
    wanted = Q(pk=None)
    for processor_id in {bath.processor_id for bath in listed}:
        starts = [since.get(bath.pk) for bath in listed if bath.processor_id == processor_id]
        this = Q(processor=processor_id)
        earliest = min((start for start in starts if start), default=None)
        wanted |= this if None in starts or earliest is None else this & Q(fed_at__gte=earliest)
    feeds: dict[int, list[Written]] = defaultdict(list)
    query = reckoning.feeds_known(known_at, trust_files=trust_files).filter(wanted, fed_at__lte=at)
    for fed_at, pk, area, sheets, processor_id, paper in query.values_list(
        "fed_at", "pk", "sheet_area_mm2", "sheets", "processor", "paper__code"
    ):
        event = reckoning.SheetsThrough(fed_at, area, sheets, paper or "")
        feeds[processor_id].append(Written(fed_at, (1, pk), event))
    states = {}
    for bath in listed:
        start = since.get(bath.pk)
        through = [one for one in feeds[bath.processor_id] if start is None or one.at >= start]
        events = reckoning.in_order([*entries[bath.pk], *through])
        states[bath.pk] = fold(filled.get(bath.pk), events, known[bath.pk], zone)
    return states


def _alerts(bath_ids: list[int], at: datetime) -> dict[int, list[str]]:
    """Bath id → the kinds of alert that stood open at ``at``."""
    out: dict[int, list[str]] = defaultdict(list)
    open_then = Q(cleared_at=None) | Q(cleared_at__gt=at)
    for row in Alert.objects.filter(open_then, bath__in=bath_ids, raised_at__lte=at).order_by("raised_at", "pk"):
        out[row.bath_id].append(row.kind)
    return out
