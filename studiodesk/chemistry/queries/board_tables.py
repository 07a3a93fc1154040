"""Everything of the chemistry as tables, row by row: for a spreadsheet, or for whoever leaves with their data.

Amounts are whole pL, areas mm², silver µg/L or pg, as they are kept: nothing is rounded.  Every row is there, also what
was taken back or corrected, with the number of the row that took its place.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Model, QuerySet
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from studiodesk.stations.models import Job, JobDone, ProcessorOpening

from ..models import (
    Alert,
    BathEntry,
    BathSetting,
    Container,
    ContainerEntry,
    ControlStrip,
    Feed,
    Lot,
    Mix,
    MixPart,
    PickUp,
    PumpCalibration,
    StockEntry,
    StripReading,
)

AT_A_TIME = 1000


@dataclass(frozen=True)
class Table:
    """``columns``: name in the file → path to the value; ``at``: the field by which a stretch of time is chosen."""

    name: str | Promise
    model: type[Model]
    columns: dict[str, str]
    at: str


BY = {"recorded_by": "recorded_by__name"}
BATH = {"processor": "bath__processor__code", "bath": "bath__code"}
TABLES: dict[str, Table] = {
    "entries": Table(
        _("The books of the baths"),
        BathEntry,
        {"row": "pk", **BATH, "event": "event", "at": "at", "recorded_at": "recorded_at", "amount_pl": "amount_pl",
         "drawn_off_pl": "drawn_pl", "silver_ug_per_l": "silver_ug_per_l", "mix": "mix__number",
         "container": "container__code", "age_from": "age_from", "rotation": "rotation", "note": "note", **BY,
         "corrects_row": "corrects", "corrected_by_row": "corrected_by"},
        "at",
    ),
    "sheets": Table(
        _("Sheets through"),
        Feed,
        {"row": "pk", "processor": "processor__code", "at": "fed_at", "recorded_at": "recorded_at",
         "size": "sheet__code", "paper": "paper__code", "sheets": "sheets", "length_mm": "length_mm",
         "sheet_area_mm2": "sheet_area_mm2", "kind": "kind", "who": "who", "member": "member__number",
         "booking": "booking__reference", **BY, "tablet": "tablet__name", "undoes_row": "undoes",
         "undone_by_row": "undone_by"},
        "fed_at",
    ),
    "settings": Table(
        _("The figures of the baths"),
        BathSetting,
        {"row": "pk", **BATH, "in_force_from": "in_force_from", "entered_at": "entered_at", "dosing": "dosing",
         "volume_pl": "volume_pl", "rate_ul_per_m2": "rate_ul_per_m2", "unit_pl": "unit_pl",
         "capacity_mm2_per_l": "capacity_mm2_per_l", "turnover_limit": "turnover_limit",
         "age_limit_s": "age_limit_s", "idle_pl_per_day": "idle_pl_per_day",
         "silver_ug_per_m2": "silver_ug_per_m2", "silver_limit_ug_per_l": "silver_limit_ug_per_l",
         "by_paper": "by_paper", "as_entered": "as_entered", "source": "source", "entered_by": "entered_by__name"},
        "in_force_from",
    ),
    "pumps": Table(
        _("Pumps measured"),
        PumpCalibration,
        {"row": "pk", **BATH, "at": "at", "recorded_at": "recorded_at", "strokes_each": "strokes_each",
         "mean_pl": "mean_pl", "was_pl": "was_pl", "note": "note", **BY},
        "at",
    ),
    "strips": Table(
        _("Control strips"),
        ControlStrip,
        {"row": "pk", "processor": "processor__code", "at": "read_at", "recorded_at": "recorded_at", "eye": "eye",
         "verdict": "verdict", "rule": "rule", "note": "note", **BY, "undoes_row": "undoes",
         "undone_by_row": "undone_by"},
        "read_at",
    ),
    "readings": Table(
        _("Readings of control strips"),
        StripReading,
        {"row": "pk", "processor": "processor__code", "strip_row": "strip", "at": "read_at",
         "recorded_at": "recorded_at", "patch": "patch", "channel": "channel", "aim": "aim", "reading": "reading"},
        "read_at",
    ),
    "mixes": Table(
        _("Mixes"),
        Mix,
        {"number": "number", "recipe": "recipe__code", "at": "made_at", "recorded_at": "recorded_at",
         "asked_pl": "asked_pl", "made_pl": "made_pl", "container": "container__code", "made_by": "made_by__name",
         "note": "note", "undone_at": "undone_at"},
        "made_at",
    ),
    "mix-parts": Table(
        _("Parts of mixes"),
        MixPart,
        {"mix": "mix__number", "position": "position", "product": "product__code", "lot": "lot__code",
         "asked": "asked", "measured": "measured", "unit": "product__unit"},
        "mix__made_at",
    ),
    "lots": Table(
        _("Lots"),
        Lot,
        {"row": "pk", "product": "product__code", "lot": "code", "amount": "amount", "unit": "product__unit",
         "received_on": "received_on", "recorded_at": "recorded_at", "expires_on": "expires_on",
         "opened_on": "opened_on", "place": "place", "price_minor": "price_minor", "delivery": "delivery", **BY},
        "recorded_at",
    ),
    "stock": Table(
        _("Stock used and counted"),
        StockEntry,
        {"row": "pk", "product": "lot__product__code", "lot": "lot__code", "event": "event", "at": "at",
         "recorded_at": "recorded_at", "change": "change", "counted": "counted", "unit": "lot__product__unit",
         "note": "note", **BY, "undoes_row": "undoes", "undone_by_row": "undone_by"},
        "at",
    ),
    "containers": Table(
        _("Containers"),
        Container,
        {"container": "code", "name": "name", "sort": "sort", "capacity_pl": "capacity_pl", "place": "place",
         "stream": "stream__code", "feeds_processor": "feeds_bath__processor__code", "feeds_bath": "feeds_bath__code",
         "in_use": "in_use"},
        "",
    ),
    "container-entries": Table(
        _("Written down of the containers"),
        ContainerEntry,
        {"row": "pk", "container": "container__code", "event": "event", "at": "at", "recorded_at": "recorded_at",
         "amount_pl": "amount_pl", "silver_pg": "silver_pg", "mix": "mix__number", "bath_entry_row": "bath_entry",
         "receipt": "pick_up__receipt", "note": "note", **BY, "undoes_row": "undoes", "undone_by_row": "undone_by"},
        "at",
    ),
    "pick-ups": Table(
        _("Waste taken away"),
        PickUp,
        {"row": "pk", "at": "at", "recorded_at": "recorded_at", "contractor": "contractor", "receipt": "receipt",
         "keep_until": "keep_until", "silver_mg": "silver_mg", "note": "note", **BY},
        "at",
    ),
    "jobs": Table(
        _("Jobs that recur"),
        Job,
        {"job": "code", "name": "name", "processor": "processor__code", "occasion": "occasion",
         "every_days": "every_days", "who": "who", "asks": "asks", "unit": "unit", "at_least": "at_least",
         "at_most": "at_most", "in_use": "in_use"},
        "",
    ),
    "jobs-done": Table(
        _("Jobs done"),
        JobDone,
        {"row": "pk", "job": "job__code", "processor": "job__processor__code", "at": "at",
         "recorded_at": "recorded_at", "value": "value", "unit": "job__unit", "in_tolerance": "in_tolerance",
         "left_out": "left_out", "note": "note", "done_by": "done_by__name", "undoes_row": "undoes",
         "undone_by_row": "undone_by"},
        "at",
    ),
    "openings": Table(
        _("Processors opened"),
        ProcessorOpening,
        {"row": "pk", "processor": "processor__code", "begun_at": "begun_at", "begun_by": "begun_by__name",
         "ready_at": "ready_at", "ready_by": "ready_by__name", "closed_at": "closed_at",
         "closed_by": "closed_by__name"},
        "begun_at",
    ),
    "alerts": Table(
        _("Alerts"),
        Alert,
        {"row": "pk", "kind": "kind", "of": "key", "raised_at": "raised_at", "since": "since", "late": "late",
         "limit": "limit", "taken_at": "taken_at", "taken_by": "taken_by__name", "put_off_at": "snoozed_at",
         "put_off_until": "snoozed_until", "put_off_by": "snoozed_by__name", "put_off_why": "snooze_reason",
         "cleared_at": "cleared_at", "cleared_by_entry_row": "cleared_by", "cleared_by": "cleared_person__name",
         "facts": "facts"},
        "raised_at",
    ),
}  # fmt: skip


def table_rows(what: str, starts: datetime | None = None, ends: datetime | None = None) -> Iterator[list[Any]]:
    """The names of the columns, then every row in ``[starts, ends)`` in the order in which it was written."""
    table = TABLES[what]
    yield list(table.columns)
    rows: QuerySet[Any] = table.model._default_manager.order_by("pk")
    if table.at and starts is not None:
        rows = rows.filter(**{f"{table.at}__gte": starts})
    if table.at and ends is not None:
        rows = rows.filter(**{f"{table.at}__lt": ends})
    yield from map(list, rows.values_list(*table.columns.values()).iterator(chunk_size=AT_A_TIME))
