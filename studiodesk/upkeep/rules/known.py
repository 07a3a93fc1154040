"""What the database knows, and whether the rows of a file agree with it.  Pure.

Every check keeps its problems in ``Findings`` under the row's line; what is found to be here already is left out of
the answer, so that a second import writes nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from studiodesk.answers import Refusal

from .problems import Findings, shown
from .rows import BookingRow, EventRow, FeedRow, MemberRow, StripRow

LONGEST = timedelta(hours=24)
MOST_PL = 9 * 10**18  # a column of 64 bits ends at 9.22 × 10¹⁸ pL


@dataclass(frozen=True)
class KnownMember:
    pk: int
    number: str
    name: str
    email: str
    joined_on: date
    born_on: date | None = None


@dataclass(frozen=True)
class KnownStation:
    pk: int
    set_up: timedelta
    clear_up: timedelta
    processes: frozenset[str] = frozenset()


@dataclass(frozen=True)
class KnownProcessor:
    """``greatest_rate``: µL/m², the greatest that any of its baths ever had."""

    pk: int
    name: str
    feed_width_mm: int
    greatest_rate: int = 0


@dataclass(frozen=True)
class KnownSheet:
    pk: int
    name: str
    width_mm: int
    length_mm: int


@dataclass(frozen=True)
class KnownBooking:
    """A booking as the database has it, its codes as the file would write them."""

    pk: int
    member: str
    station: str
    process: str | None
    start: datetime
    end: datetime
    made_at: datetime
    cancelled_at: datetime | None
    arrived_at: datetime | None


@dataclass(frozen=True)
class House:
    """Codes of the studio → what they stand for; ``baths``: (processor, bath) → id."""

    processes: Mapping[str, int] = field(default_factory=dict)
    stations: Mapping[str, KnownStation] = field(default_factory=dict)
    processors: Mapping[str, KnownProcessor] = field(default_factory=dict)
    sheets: Mapping[str, KnownSheet] = field(default_factory=dict)
    baths: Mapping[tuple[str, str], int] = field(default_factory=dict)


def _known(codes: Any, code: str | None, findings: Findings, line: int, column: str) -> bool:
    """True if the code is known (an empty one was a problem of its own before)."""
    if not code or code in codes:
        return True
    findings.wrong(Refusal("upkeep.unknown_code", {"value": shown(code)}), line, column)
    return False


def _differences(row: Any, there: Any, columns: Iterable[str], what: str, findings: Findings) -> None:
    for column in columns:
        in_file, here = getattr(row, column), getattr(there, column)
        if in_file != here:
            facts = {"what": what, "file": _said(in_file), "here": _said(here)}
            findings.wrong(Refusal("upkeep.differs", facts), row.line, column)


def _said(value: object) -> str:
    if isinstance(value, datetime):
        return value.isoformat().replace("+00:00", "Z")
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return "–" if value is None else shown(value)


def new_members(
    rows: Sequence[MemberRow], known: Mapping[str, KnownMember], numbers: Mapping[str, str], findings: Findings
) -> list[MemberRow]:
    """``known``: number → member; ``numbers``: address in small letters → number of who has it."""
    new = []
    for row in rows:
        there = known.get(row.number)
        if there is None:
            new.append(row)
        else:
            _differences(row, there, ("name", "joined_on"), row.number, findings)
            if row.email.lower() != there.email.lower():
                facts = {"what": row.number, "file": row.email, "here": there.email}
                findings.wrong(Refusal("upkeep.differs", facts), row.line, "email")
                continue
        owner = numbers.get(row.email.lower())
        if owner is not None and owner != row.number:
            findings.wrong(Refusal("upkeep.address_of_another", {"number": owner}), row.line, "email")
    return new


def new_bookings(
    rows: Sequence[BookingRow],
    house: House,
    members: Mapping[str, int],
    known: Mapping[str, KnownBooking],
    findings: Findings,
) -> list[BookingRow]:
    """``members``: number → id; ``known``: reference → the booking that carries it."""
    new = []
    for row in rows:
        _known(members, row.member, findings, row.line, "member")
        _known(house.processes, row.process, findings, row.line, "process")
        if _known(house.stations, row.station, findings, row.line, "station") and row.station:
            _check_station(row, house.stations[row.station], findings)
        there = known.get(row.reference)
        if there is None:
            new.append(row)
            continue
        columns = ("member", "station", "process", "start", "end", "made_at", "cancelled_at", "arrived_at")
        _differences(row, there, columns, row.reference, findings)
    return new


def _check_station(row: BookingRow, station: KnownStation, findings: Findings) -> None:
    if row.start < row.end and row.end - row.start + station.set_up + station.clear_up > LONGEST:
        findings.wrong(Refusal("upkeep.longer_than_a_day"), row.line, "end")
    if row.process and station.processes and row.process not in station.processes:
        facts = {"station": row.station, "process": row.process}
        findings.warn(Refusal("upkeep.process_not_of_station", facts), row.line, "process")


def check_feeds(
    rows: Sequence[FeedRow],
    house: House,
    members: Mapping[str, int],
    bookings: Mapping[str, KnownBooking],
    findings: Findings,
) -> None:
    """``bookings``: reference → the booking that carries it."""
    asked: dict[str, int] = {}
    for row in rows:
        _known(members, row.member, findings, row.line, "member")
        _known(bookings, row.booking, findings, row.line, "booking")
        good = _known(house.processors, row.processor, findings, row.line, "processor")
        good = _known(house.sheets, row.sheet, findings, row.line, "sheet") and good
        of = bookings.get(row.booking or "")
        if of is not None and row.member and row.member != of.member:
            facts = {"reference": row.booking, "member": of.member}
            findings.wrong(Refusal("upkeep.booking_of_another", facts), row.line, "member")
        if not (good and row.processor and row.sheet):
            continue
        sheet, processor = house.sheets[row.sheet], house.processors[row.processor]
        narrow = min(sheet.width_mm, sheet.length_mm)
        if narrow > processor.feed_width_mm:
            wide = {"sheet": sheet.name, "edge": narrow, "name": processor.name, "feed": processor.feed_width_mm}
            findings.wrong(Refusal("upkeep.too_wide", wide), row.line, "sheet")
        area = sheet.width_mm * sheet.length_mm * row.sheets
        before = asked.get(row.processor, 0)
        asked[row.processor] = before + area * max(processor.greatest_rate, 1)
        if before <= MOST_PL < asked[row.processor]:
            findings.wrong(Refusal("upkeep.more_than_fits", {"name": processor.name}), row.line, "sheets")


def check_events(
    rows: Sequence[tuple[EventRow, str]],
    house: House,
    refills: Mapping[tuple[str, str, datetime], str],
    findings: Findings,
) -> None:
    """``rows``: each with its key; ``refills``: (processor, bath, moment) that are here → the key they came with."""
    for row, key in rows:
        if _known(house.processors, row.processor, findings, row.line, "processor") and row.bath and row.processor:
            if (row.processor, row.bath) not in house.baths:
                facts = {"value": shown(row.bath), "processor": row.processor}
                findings.wrong(Refusal("upkeep.unknown_bath", facts), row.line, "bath")
            elif row.event == "refill" and refills.get((row.processor, row.bath, row.at), key) != key:
                findings.wrong(Refusal("upkeep.refilled_already"), row.line, "at")


def check_strips(
    rows: Sequence[StripRow],
    house: House,
    readings: Mapping[tuple[str, datetime, str, str], tuple[Decimal, Decimal]],
    findings: Findings,
) -> None:
    """``readings``: (processor, moment, patch, channel) that are here → (aim, reading)."""
    for row in rows:
        _known(house.processors, row.processor, findings, row.line, "processor")
        there = readings.get((row.processor, row.read_at, row.patch, row.channel))
        if there is None:
            continue
        for column, in_file, here in (("aim", row.aim, there[0]), ("reading", row.reading, there[1])):
            if in_file != here:
                facts = {"what": f"{row.patch} {row.channel}", "file": _said(in_file), "here": _said(here)}
                findings.wrong(Refusal("upkeep.differs", facts), row.line, column)


def warn_of_the_future(moments: Sequence[tuple[int, datetime]], column: str, now: datetime, findings: Findings) -> None:
    """One word about lines that have not come yet.  ``moments``: (line, moment)."""
    lines = sorted(line for line, moment in moments if moment > now)
    if lines:
        findings.warn(Refusal("upkeep.in_the_future", {"lines": len(lines)}), lines[0], column)


def in_time(rows: Sequence[FeedRow]) -> list[FeedRow]:
    """Sheets in time order; lines of one instant by what they say, so that the order of the file changes no sum."""
    return sorted(
        rows,
        key=lambda row: (
            row.fed_at,
            row.processor,
            row.sheet,
            row.kind,
            row.sheets,
            row.member or "",
            row.booking or "",
        ),
    )


_RANK = ("refill", "partial dump", "lost", "working solution", "water", "given", "strip", "condemned", "note")


def events_in_time(rows: Sequence[EventRow]) -> list[EventRow]:
    """Bath events in time order; at one instant a refill comes first and a strip reads what was done before it."""
    return sorted(
        rows, key=lambda row: (row.at, row.processor, row.bath, _RANK.index(row.event), row.ml or Decimal(0), row.note)
    )
