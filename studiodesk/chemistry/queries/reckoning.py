"""From rows to the rules' values: settings, events and sums of baths."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Q, QuerySet

from studiodesk.answers import Refusal, Refused

from ..models import Bath, BathEntry, BathSetting, Feed, Fill
from ..rules import entering
from ..rules.events import (
    Condemned,
    Contaminated,
    Dumped,
    Event,
    Given,
    IntoBottle,
    Lost,
    Note,
    OutOfBottle,
    PartialDump,
    SheetsThrough,
    StartUp,
    StripRead,
    Water,
    WorkingSolution,
)
from ..rules.settings import BathSettings, PaperFigures, SettingsHistory
from ..rules.tank import Filling, TankState, begun

FIGURES = (
    "volume_pl",
    "dosing",
    "rate_ul_per_m2",
    "unit_pl",
    "capacity_mm2_per_l",
    "turnover_limit",
    "age_limit_s",
    "idle_pl_per_day",
    "silver_ug_per_m2",
    "silver_limit_ug_per_l",
    "low_use_turnovers",
    "has_weir",
    "most_at_once_pl",
    "start_up_pl",
    "evaporation_pl_per_day",
    "bottle_limit_s",
    "dumped_at_closing",
    "rotations_limit",
)
WITH_PL = {
    entering.WATER: Water,
    entering.START_UP: StartUp,
    entering.WORKING_SOLUTION: WorkingSolution,
    entering.LOST: Lost,
    entering.PARTIAL_DUMP: PartialDump,
}
WITH_A_MOMENT = {
    entering.CONDEMNED: Condemned,
    entering.CONTAMINATED: Contaminated,
    entering.DUMPED: Dumped,
    entering.INTO_BOTTLE: IntoBottle,
    entering.OUT_OF_BOTTLE: OutOfBottle,
}


@dataclass(frozen=True)
class Written:
    """One event with its place in time: entries stand before sheets of the same instant, then as they were written."""

    at: datetime
    order: tuple[int, int]
    event: Event


def settings_of(row: BathSetting) -> BathSettings:
    by_paper = {code: PaperFigures(**figures) for code, figures in row.by_paper.items()}
    return BathSettings(**{name: getattr(row, name) for name in FIGURES}, by_paper=by_paper)


def histories(bath_ids: Iterable[int], known_at: datetime | None = None) -> dict[int, SettingsHistory]:
    """Bath id → its settings through time; with ``known_at`` only what was entered by then (if anything was)."""
    return _through_time(BathSetting.objects.filter(bath__in=list(bath_ids)), known_at)


def described(known_at: datetime | None = None) -> tuple[list[Bath], dict[int, SettingsHistory]]:
    """Every bath that has settings, by processor and in the order of its baths, and its settings; one query."""
    rows = list(BathSetting.objects.select_related("bath__processor__process"))
    listed = {row.bath_id: row.bath for row in rows}
    order = sorted(listed.values(), key=lambda bath: (bath.processor.code, bath.position, bath.pk))
    return order, _through_time(rows, known_at)


def _through_time(settings: Iterable[BathSetting], known_at: datetime | None) -> dict[int, SettingsHistory]:
    rows: dict[int, list[BathSetting]] = defaultdict(list)
    for row in settings:
        rows[row.bath_id].append(row)
    out = {}
    for bath_id, versions in rows.items():
        known = [row for row in versions if known_at is None or row.entered_at <= known_at] or versions
        out[bath_id] = SettingsHistory((row.in_force_from, settings_of(row)) for row in known)
    return out


def history_of(bath: Bath, known: Mapping[int, SettingsHistory]) -> SettingsHistory:
    """The bath's own; ``Refused("chemistry.no_settings")`` if none was ever entered."""
    if bath.pk not in known:
        raise Refused(Refusal("chemistry.no_settings", {"bath": bath.name}))
    return known[bath.pk]


def feeds_known(known_at: datetime | None = None, *, trust_files: bool = False) -> QuerySet[Feed]:
    """The sheets that count, as known at a moment (``None``: as known now): what was taken back is not among them.

    ``trust_files``: what a file of the past tells was known when it happened, not only when it was imported.
    """
    feeds = Feed.objects.filter(undoes=None)
    if known_at is None:
        return feeds.filter(undone_by=None)
    told = Q(recorded_at__lte=known_at)
    if trust_files:
        told |= Q(file_key__isnull=False, fed_at__lte=known_at)
    return feeds.filter(told).filter(Q(undone_by=None) | Q(undone_by__recorded_at__gt=known_at))


def entries_known(known_at: datetime | None = None, *, trust_files: bool = False) -> QuerySet[BathEntry]:
    """The entries that hold: a corrected one has made room for its correction.  ``trust_files``: see above."""
    if known_at is None:
        return BathEntry.objects.filter(corrected_by=None)
    told = Q(recorded_at__lte=known_at)
    if trust_files:
        told |= Q(file_key__isnull=False, at__lte=known_at)
    held = Q(corrected_by=None) | Q(corrected_by__recorded_at__gt=known_at)
    return BathEntry.objects.filter(held, told)


def sheets_event(feed: Feed) -> SheetsThrough:
    return SheetsThrough(feed.fed_at, feed.sheet_area_mm2, feed.sheets, feed.paper.code if feed.paper else "")


def entry_event(entry: BathEntry) -> Event:
    """The event of an entry that is no refill."""
    if entry.event == entering.GIVEN:
        return Given(entry.at, entry.amount_pl or 0, entry.drawn_pl or 0)
    if entry.event in WITH_PL:
        return WITH_PL[entry.event](entry.at, entry.amount_pl or 0)
    if entry.event == entering.STRIP:
        return StripRead(entry.at, entry.silver_ug_per_l)
    return WITH_A_MOMENT.get(entry.event, Note)(entry.at)


def written_feeds(feeds: QuerySet[Feed]) -> list[Written]:
    rows = feeds.values_list("fed_at", "pk", "sheet_area_mm2", "sheets", "paper__code")
    return [Written(at, (1, pk), SheetsThrough(at, area, sheets, paper or "")) for at, pk, area, sheets, paper in rows]


def written_entry(entry: BathEntry) -> Written:
    return Written(entry.at, (0, entry.pk), entry_event(entry))


def in_order(written: Iterable[Written]) -> list[Event]:
    return [one.event for one in sorted(written, key=lambda one: (one.at, one.order))]


def events_between(bath: Bath, began: datetime | None, ended: datetime | None) -> list[Event]:
    """What happened to a tank in ``[began, ended)``, as known now, in order; refills are its edges, not its events."""
    feeds = feeds_known().filter(processor_id=bath.processor_id)
    entries = entries_known().filter(bath=bath).exclude(event=entering.REFILL)
    if began is not None:
        feeds, entries = feeds.filter(fed_at__gte=began), entries.filter(at__gte=began)
    if ended is not None:
        feeds, entries = feeds.filter(fed_at__lt=ended), entries.filter(at__lt=ended)
    return in_order([*written_feeds(feeds), *(written_entry(entry) for entry in entries)])


def refills(bath: Bath) -> list[datetime]:
    """The moments at which the bath was filled anew, in order."""
    rows = entries_known().filter(bath=bath, event=entering.REFILL)
    return sorted(set(rows.values_list("at", flat=True)))


def filling_at(bath: Bath, began: datetime | None) -> Filling | None:
    """The refill with which a tank of the bath began; ``None`` for one of which no filling is known."""
    if began is None:
        return None
    row = entries_known().filter(bath=bath, event=entering.REFILL, at=began).order_by("pk").first()
    return filling_of(row) if row else Filling(began)


def filling_of(row: BathEntry) -> Filling:
    """Of a rotated bath also the silver that came with it: µg/L × pL is 10⁻⁶ pg."""
    silver = (row.silver_ug_per_l or 0) * (row.amount_pl or 0) // 1_000_000
    return Filling(row.at, row.age_from, row.rotation, silver)


def state_of(fill: Fill | None) -> TankState:
    """The running sums of a fill; a bath without one is a tank of which nothing is known."""
    if fill is None:
        return begun(None)
    row: dict[str, Any] = fill.sums
    return TankState.from_row(row) if row else begun(fill.began_at)


def fill_at(fills: Iterable[Fill], moment: datetime) -> Fill | None:
    """The one of a bath's fills that was in the tank at ``moment``."""
    for fill in fills:
        after_start = fill.began_at is None or fill.began_at <= moment
        if after_start and (fill.ended_at is None or moment < fill.ended_at):
            return fill
    return None
