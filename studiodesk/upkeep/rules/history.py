"""members, bookings, feeds, bath_events and strips: CSV → rows, or everything that is wrong.  Pure."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from decimal import Decimal
from functools import partial
from typing import Any

from studiodesk.answers import Refusal

from . import cells
from .problems import Findings, shown
from .rows import BookingRow, EventRow, FeedRow, MemberRow, StripRow
from .tables import Cells, Columns, Watched, all_rows, read_table

KINDS = ("print", "test strip", "reject", "control strip", "house", "cleaning")
WITH_AMOUNT = ("given", "water", "working solution", "lost", "partial dump")
WITHOUT_AMOUNT = ("refill", "strip", "condemned", "note")
MOST_ML = 10_000_000

MEMBERS = Columns(("number", "name", "email", "joined_on"), further=("plan", "member_from", "member_until", "born_on"))
BOOKINGS = Columns(
    ("reference", "member", "station", "start", "end", "made_at"), ("process", "cancelled_at", "arrived_at")
)
FEEDS = Columns(("fed_at", "processor", "sheet", "sheets", "kind"), ("member", "booking"))
EVENTS = Columns(("at", "processor", "bath", "event"), ("ml", "note"))
STRIPS = Columns(("read_at", "processor", "patch", "channel", "aim", "reading"))

_THEN = datetime(1970, 1, 1, tzinfo=UTC)
_reference = partial(cells.text, longest=40)
_kind = cells.one_of(KINDS)
_event = cells.one_of((*WITH_AMOUNT, *WITHOUT_AMOUNT))
_patch = partial(cells.text, longest=30)
_SILVER = re.compile(r"(?<![\d.,])(\d{1,6}(?:[.,]\d{1,6})?)\s*(m?)g\s*/\s*l\b", re.IGNORECASE | re.ASCII)


class Twice:
    """Refuses what may stand in a file only once, naming the line on which it stood first."""

    def __init__(self) -> None:
        self._lines: dict[Any, int] = {}

    def look(self, cells_of: Cells, column: str, key: Any, said: str) -> None:
        first = self._lines.setdefault(key, cells_of.row.line)
        if first != cells_of.row.line:
            cells_of.wrong(column, Refusal("upkeep.twice_in_file", {"what": shown(said), "first": first}))


def read_members(data: bytes, findings: Findings, watched: Watched = all_rows) -> list[MemberRow]:
    numbers, addresses, out = Twice(), Twice(), []
    for row in watched(read_table(data, MEMBERS, findings), findings.file):
        take = Cells(row, findings)
        member = MemberRow(
            line=row.line,
            number=take.needed("number", cells.code, ""),
            name=take.needed("name", cells.text, ""),
            email=take.needed("email", cells.email, ""),
            joined_on=take.needed("joined_on", cells.day, date.min),
            plan=take.optional("plan", cells.code),
            member_from=take.optional("member_from", cells.day),
            member_until=take.optional("member_until", cells.day),
            born_on=take.optional("born_on", cells.day),
        )
        if member.number:
            numbers.look(take, "number", member.number, member.number)
        if member.email:
            addresses.look(take, "email", member.email.lower(), member.email)
        out.append(member)
    return out


def read_bookings(data: bytes, findings: Findings, watched: Watched = all_rows) -> list[BookingRow]:
    references, out = Twice(), []
    for row in watched(read_table(data, BOOKINGS, findings), findings.file):
        take = Cells(row, findings)
        booking = BookingRow(
            line=row.line,
            reference=take.needed("reference", _reference, ""),
            member=take.needed("member", cells.code, ""),
            station=take.needed("station", cells.code, ""),
            process=take.optional("process", cells.code),
            start=take.needed("start", cells.moment, _THEN),
            end=take.needed("end", cells.moment, _THEN),
            made_at=take.needed("made_at", cells.moment, _THEN),
            cancelled_at=take.optional("cancelled_at", cells.moment),
            arrived_at=take.optional("arrived_at", cells.moment),
        )
        if booking.reference:
            references.look(take, "reference", booking.reference, booking.reference)
        _check_order(take, booking)
        out.append(booking)
    return out


def _check_order(take: Cells, booking: BookingRow) -> None:
    """An end after its start; nothing cancelled or arrived at before it was made.  Unread times are not compared."""
    if booking.end <= booking.start and _THEN not in (booking.start, booking.end):
        take.wrong("end", Refusal("upkeep.ends_first"))
    for column, moment, code in (
        ("cancelled_at", booking.cancelled_at, Refusal("upkeep.cancelled_before_made")),
        ("arrived_at", booking.arrived_at, Refusal("upkeep.arrived_before_made")),
    ):
        if moment is not None and moment < booking.made_at:
            take.wrong(column, code)


def read_feeds(data: bytes, findings: Findings, watched: Watched = all_rows) -> list[FeedRow]:
    out = []
    for row in watched(read_table(data, FEEDS, findings), findings.file):
        take = Cells(row, findings)
        out.append(
            FeedRow(
                line=row.line,
                fed_at=take.needed("fed_at", cells.moment, _THEN),
                processor=take.needed("processor", cells.code, ""),
                member=take.optional("member", cells.code),
                booking=take.optional("booking", _reference),
                sheet=take.needed("sheet", cells.code, ""),
                sheets=take.needed("sheets", cells.sheets, 1),
                kind=take.needed("kind", _kind, "print"),
            )
        )
    return out


def read_events(data: bytes, findings: Findings, watched: Watched = all_rows) -> list[EventRow]:
    refills, out = Twice(), []
    for row in watched(read_table(data, EVENTS, findings), findings.file):
        take = Cells(row, findings)
        event = EventRow(
            line=row.line,
            at=take.needed("at", cells.moment, _THEN),
            processor=take.needed("processor", cells.code, ""),
            bath=take.needed("bath", cells.code, ""),
            event=take.needed("event", _event, "note"),
            ml=_amount(take),
            note=take.optional("note", cells.note) or "",
        )
        if event.event == "refill" and take.good:
            key = (event.at, event.processor, event.bath)
            refills.look(take, "at", key, f"{row.cells['at']} {event.processor} {event.bath}")
        if event.event == "strip" and len(_SILVER.findall(event.note)) > 1:
            findings.warn(Refusal("upkeep.two_silvers"), row.line, "note")
        out.append(event)
    return out


def _amount(take: Cells) -> Decimal | None:
    """The amount where the event has one: it is needed there, and without use elsewhere (a warning)."""
    event = take.row.cells.get("event", "").casefold()
    if event in WITH_AMOUNT:
        return take.needed("ml", lambda written: cells.number(written, Decimal("0.001"), MOST_ML), Decimal(1))
    if take.row.cells.get("ml"):
        take.findings.warn(Refusal("upkeep.amount_not_used", {"event": shown(event)}), take.row.line, "ml")
    return None


def silver_ug_per_l(note: str) -> int | None:
    """The silver of a strip as its note has it: one figure in g/L or mg/L, in µg/L; None without or with several."""
    found = _SILVER.findall(note)
    if len(found) != 1:
        return None
    figure, milli = found[0]
    return int(Decimal(figure.replace(",", ".")) * (1_000 if milli else 1_000_000))


def read_strips(data: bytes, findings: Findings, watched: Watched = all_rows) -> list[StripRow]:
    patches, out = Twice(), []
    for row in watched(read_table(data, STRIPS, findings), findings.file):
        take = Cells(row, findings)
        strip = StripRow(
            line=row.line,
            read_at=take.needed("read_at", cells.moment, _THEN),
            processor=take.needed("processor", cells.code, ""),
            patch=take.needed("patch", _patch, ""),
            channel=take.needed("channel", _patch, ""),
            aim=take.needed("aim", _density, Decimal(0)),
            reading=take.needed("reading", _density, Decimal(0)),
        )
        if take.good:
            key = (strip.read_at, strip.processor, strip.patch, strip.channel)
            patches.look(take, "patch", key, f"{row.cells['read_at']} {strip.patch} {strip.channel}")
        out.append(strip)
    return out


def _density(written: str) -> Decimal:
    """Up to five digits before the point and four after it, kept without rounding."""
    return cells.decimal_places(written, 5, 4)
