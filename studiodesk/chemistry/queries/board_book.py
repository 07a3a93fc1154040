"""The lines of a bath's book that a figure was summed from: its entries and the sheets through its processor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import CharField, F, QuerySet, Sum, Value

from ..models import Bath, BathEntry, Feed
from ..rules import entering
from . import reckoning

PER_PAGE = 50
SHEETS, ENTRY = "sheets", "entry"
ANY = "any"
#: The word in the address → the kinds of entry that it means; sheets are in "sheets" and "any" alone.
KINDS: dict[str, tuple[str, ...]] = {
    ANY: tuple(BathEntry.Event.values),
    "sheets": (),
    "changes": (entering.REFILL, entering.DUMPED, entering.PARTIAL_DUMP, entering.INTO_BOTTLE, entering.OUT_OF_BOTTLE),
    "given": (entering.GIVEN,),
    "start-up": (entering.START_UP,),
    "working-solution": (entering.WORKING_SOLUTION,),
    "water": (entering.WATER,),
    "lost": (entering.LOST,),
    "strips": (entering.STRIP,),
    "judged": (entering.CONDEMNED, entering.CONTAMINATED),
    "notes": (entering.NOTE,),
}
#: Those whose amounts can be added up.
ADDED = ("given", "start-up", "working-solution", "water", "lost")


@dataclass(frozen=True)
class Line:
    """One line of the book; ``holds``: it counts (not taken back, not corrected)."""

    at: datetime
    entry: BathEntry | None = None
    feed: Feed | None = None

    @property
    def holds(self) -> bool:
        row = self.entry or self.feed
        return not hasattr(row, "corrected_by") if self.entry else not hasattr(row, "undone_by")

    @property
    def area_mm2(self) -> int:
        return self.feed.sheet_area_mm2 * self.feed.sheets if self.feed else 0


@dataclass(frozen=True)
class Book:
    """A page of lines, the latest first, and the sums of all lines that hold in the stretch."""

    page: Page
    lines: list[Line]
    sheets: int
    area_mm2: int
    amount_pl: int | None


def _within(rows: QuerySet[Any], field: str, starts: datetime | None, ends: datetime | None) -> QuerySet[Any]:
    """``[starts, ends)``"""
    if starts is not None:
        rows = rows.filter(**{f"{field}__gte": starts})
    return rows if ends is None else rows.filter(**{f"{field}__lt": ends})


def book(bath: Bath, kind: str, starts: datetime | None, ends: datetime | None, number: object = 1) -> Book:
    """Page ``number`` of the lines of a kind in ``[starts, ends)``; one out of range is the nearest that there is."""
    events = KINDS[kind]
    entries = _within(BathEntry.objects.filter(bath=bath, event__in=events), "at", starts, ends)
    entries = entries.exclude(event=entering.NOTE, corrects__isnull=False)  # what took an entry back stands beside it
    feeds = Feed.objects.filter(processor_id=bath.processor_id, undoes=None)
    feeds = _within(feeds if kind in (ANY, SHEETS) else feeds.none(), "fed_at", starts, ends)
    page = Paginator(_in_one_order(entries, feeds), PER_PAGE).get_page(number)
    counting = _within(reckoning.feeds_known().filter(processor_id=bath.processor_id), "fed_at", starts, ends)
    sums = {"sheets": 0, "area": 0}
    if kind in (ANY, SHEETS):
        found = counting.aggregate(area=Sum(F("sheets") * F("sheet_area_mm2")), all_sheets=Sum("sheets"))
        sums = {"sheets": found["all_sheets"] or 0, "area": found["area"] or 0}
    amount = None
    if kind in ADDED:
        held = _within(reckoning.entries_known().filter(bath=bath, event__in=events), "at", starts, ends)
        amount = held.aggregate(pl=Sum("amount_pl"))["pl"] or 0
    return Book(page, _lines(list(page.object_list)), sums["sheets"], sums["area"], amount)


def _in_one_order(entries: QuerySet[BathEntry], feeds: QuerySet[Feed]) -> QuerySet[Any]:
    """Both tables as (moment, which, pk), the latest first."""
    kinds = {name: Value(name, output_field=CharField()) for name in (ENTRY, SHEETS)}
    first = entries.order_by().annotate(line_at=F("at"), line_of=kinds[ENTRY], line_pk=F("pk"))
    second = feeds.order_by().annotate(line_at=F("fed_at"), line_of=kinds[SHEETS], line_pk=F("pk"))
    columns = ("line_at", "line_of", "line_pk")
    both = first.values_list(*columns).union(second.values_list(*columns), all=True)
    return both.order_by("-line_at", "-line_of", "-line_pk")


def _lines(keys: Sequence[tuple[datetime, str, int]]) -> list[Line]:
    entries = BathEntry.objects.select_related("recorded_by", "corrected_by__recorded_by", "mix", "container")
    feeds = Feed.objects.select_related("sheet", "paper", "member", "recorded_by", "undone_by", "tablet")
    by_entry = entries.in_bulk([pk for _at, of, pk in keys if of == ENTRY])
    by_feed = feeds.in_bulk([pk for _at, of, pk in keys if of == SHEETS])
    return [Line(at, entry=by_entry[pk]) if of == ENTRY else Line(at, feed=by_feed[pk]) for at, of, pk in keys]
