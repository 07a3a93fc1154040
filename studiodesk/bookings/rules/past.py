"""Bookings recorded as they were: what an import hands over, and who would stand in whose way.  Pure."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from studiodesk.timekeeping import Span

from .places import Piece, weave


@dataclass(frozen=True)
class PastBooking:
    """One row of a history.  Ids are database ids; times are aware; ``row_number`` is the line in the file."""

    reference: str
    member_id: int
    station_id: int
    process_id: int | None
    starts: datetime
    ends: datetime
    made_at: datetime
    cancelled_at: datetime | None = None
    arrived_at: datetime | None = None
    row_number: int = 0

    @property
    def span(self) -> Span:
        return Span(self.starts, self.ends)


@dataclass(frozen=True)
class Clash:
    """``later`` and ``earlier`` want the same station at the same time."""

    later: PastBooking
    earlier_reference: str


def first_clash(wanted: Iterable[tuple[Span, PastBooking]], standing: Iterable[tuple[Span, str]]) -> Clash | None:
    """The clash lowest in the file, among spans that want one lane; ``standing`` already hold it (span, reference)."""
    clashes = []
    rows: list[tuple[Span, str, PastBooking | None]] = [
        *((span, row.reference, row) for span, row in wanted),
        *((span, reference, None) for span, reference in standing),
    ]
    rows.sort(key=lambda item: (item[0], item[1]))
    longest: tuple[Span, str, PastBooking | None] | None = None
    for item in rows:
        if longest is not None and item[0].starts < longest[0].ends:
            pair = [entry for entry in (longest, item) if entry[2] is not None]
            last = max(pair, key=lambda entry: entry[2].row_number if entry[2] else 0, default=None)
            if last is not None and last[2] is not None:
                clashes.append(Clash(last[2], item[1] if last is longest else longest[1]))
        if longest is None or item[0].ends > longest[0].ends:
            longest = item
    return min(clashes, key=lambda clash: clash.later.row_number, default=None)


class _Lane:
    """The spans of one lane in time order, with a quick look-up of those that reach into a stay."""

    def __init__(self, spans: Sequence[Span]) -> None:
        self.spans = sorted(spans)
        self.ends = [span.ends for span in self.spans]

    def within(self, stay: Span) -> list[Span]:
        first = bisect_right(self.ends, stay.starts)
        last = first
        while last < len(self.spans) and self.spans[last].starts < stay.ends:
            last += 1
        return self.spans[first:last]

    def take(self, span: Span) -> None:
        at = bisect_right(self.ends, span.starts)
        self.spans.insert(at, span)
        self.ends.insert(at, span.ends)


@dataclass(frozen=True)
class Seat:
    """Where a row got its place: index of the processor, and the pieces of its lanes."""

    row: PastBooking
    machine: int
    pieces: Sequence[Piece]


def woven(rows: Sequence[PastBooking], machines: Sequence[Sequence[Sequence[Span]]]) -> list[Seat] | PastBooking:
    """A place for every row, in time order, at the first machine that has one; or the first row without one.

    ``machines`` holds for each processor of the process its lanes with what stands in them already.  At one machine a
    stay fits wherever fewer than N places are in use throughout, so no order of the rows can do better.
    """
    taken = [[_Lane(lane) for lane in lanes] for lanes in machines]
    out: list[Seat] = []
    for row in sorted(rows, key=lambda row: (row.starts, row.ends, row.reference)):
        for machine, lanes in enumerate(taken):
            pieces = weave(row.span, [lane.within(row.span) for lane in lanes])
            if pieces is not None:
                for piece in pieces:
                    lanes[piece.lane].take(piece.span)
                out.append(Seat(row, machine, pieces))
                break
        else:
            return row
    return out
