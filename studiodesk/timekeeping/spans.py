"""Half-open spans of time, ``[starts, ends)``, on aware datetimes.  Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta


@dataclass(frozen=True, order=True)
class Span:
    """``[starts, ends)``; both aware, ``ends`` later than ``starts`` (else ``ValueError``)."""

    starts: datetime
    ends: datetime

    def __post_init__(self) -> None:
        if self.starts.tzinfo is None or self.ends.tzinfo is None:
            raise ValueError("a span needs aware datetimes")
        if self.ends <= self.starts:
            raise ValueError("a span ends after it starts")

    @property
    def length(self) -> timedelta:
        return self.ends - self.starts

    def overlaps(self, other: Span) -> bool:
        """True if some instant lies in both; spans that only touch do not overlap."""
        return self.starts < other.ends and other.starts < self.ends

    def holds(self, moment: datetime) -> bool:
        return self.starts <= moment < self.ends

    def covers(self, other: Span) -> bool:
        return self.starts <= other.starts and other.ends <= self.ends

    def clipped_to(self, other: Span) -> Span | None:
        starts, ends = max(self.starts, other.starts), min(self.ends, other.ends)
        return Span(starts, ends) if starts < ends else None

    def widened(self, before: timedelta, after: timedelta) -> Span:
        return Span(self.starts - before, self.ends + after)


def merged(spans: Iterable[Span]) -> list[Span]:
    """The same instants as ``spans`` in time order, touching and overlapping ones joined."""
    out: list[Span] = []
    for span in sorted(spans):
        if out and span.starts <= out[-1].ends:
            if span.ends > out[-1].ends:
                out[-1] = Span(out[-1].starts, span.ends)
        else:
            out.append(span)
    return out


def without(whole: Sequence[Span], taken: Iterable[Span]) -> list[Span]:
    """The parts of ``whole`` that no span of ``taken`` covers, in time order."""
    holes = merged(taken)
    out: list[Span] = []
    for span in merged(whole):
        at = span.starts
        for hole in holes:
            if hole.ends <= at:
                continue
            if hole.starts >= span.ends:
                break
            if hole.starts > at:
                out.append(Span(at, hole.starts))
            at = max(at, hole.ends)
        if at < span.ends:
            out.append(Span(at, span.ends))
    return out
