"""Shared capacity: a processor that serves N booths at once has N places (lanes).  Pure.

A stay may change place midway: nobody sees which place is theirs, so a stay fits exactly when fewer than N places are
in use at every instant of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from studiodesk.timekeeping import Span, merged


@dataclass(frozen=True)
class Piece:
    """Part of a stay in one lane (index into the lanes given)."""

    lane: int
    span: Span


def _next_taken(lane: Sequence[Span], at: datetime) -> datetime | None:
    """When the lane is next taken: ``at`` itself if it is taken then, None if never again."""
    coming = [max(span.starts, at) for span in lane if span.ends > at]
    return min(coming, default=None)


def weave(stay: Span, lanes: Sequence[Sequence[Span]]) -> list[Piece] | None:
    """``stay`` covered by pieces of free lanes, or None if all are in use at some instant of it.

    At each break the lane that stays free longest is taken, which also gives the fewest pieces.
    """
    pieces: list[Piece] = []
    at = stay.starts
    while at < stay.ends:
        best, until = None, at
        for index, lane in enumerate(lanes):
            taken = _next_taken(lane, at)
            reach = stay.ends if taken is None else min(taken, stay.ends)
            if reach > until:
                best, until = index, reach
        if best is None:
            return None
        pieces.append(Piece(best, Span(at, until)))
        at = until
    return pieces


def weave_many(stay: Span, lanes: Sequence[Sequence[Span]], pieces: int) -> list[Piece] | None:
    """``stay`` covered ``pieces`` times over, or None if fewer lanes than that are free at some instant of it."""
    left = [list(lane) for lane in lanes]
    found: list[Piece] = []
    for _ in range(pieces):
        woven = weave(stay, left)
        if woven is None:
            return None
        for piece in woven:
            left[piece.lane].append(piece.span)
        found += woven
    return found


def peak(spans: Sequence[Span], within: Span) -> int:
    """The greatest number of ``spans`` that share an instant of ``within``."""
    edges = []
    for span in spans:
        clipped = span.clipped_to(within)
        if clipped:
            edges += [(clipped.starts, 1), (clipped.ends, -1)]
    most = at_once = 0
    for _, change in sorted(edges):  # an end sorts before a start at the same moment: half-open spans only touch
        at_once += change
        most = max(most, at_once)
    return most


def crowded(spans: Sequence[Span], most: int) -> list[Span]:
    """When at least ``most`` (one or more) of ``spans`` share an instant, merged and in time order."""
    edges = sorted((moment, change) for span in spans for moment, change in ((span.starts, 1), (span.ends, -1)))
    out: list[Span] = []
    at_once, since = 0, None
    for moment, change in edges:
        at_once += change
        if at_once >= most and since is None:
            since = moment
        elif at_once < most and since is not None:
            if since < moment:
                out.append(Span(since, moment))
            since = None
    return merged(out)


def full_spans(lanes: Sequence[Sequence[Span]]) -> list[Span]:
    """When every lane is in use, merged and in time order (always, if there are no lanes: then an empty list)."""
    return crowded([span for lane in lanes for span in merged(lane)], len(lanes)) if lanes else []
