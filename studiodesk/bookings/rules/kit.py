"""Kit that a booking takes along: when it is kept, whether it goes with the station, whether enough is there.  Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from studiodesk.answers import Refusal
from studiodesk.timekeeping import Span

from .places import crowded, weave_many


@dataclass(frozen=True)
class KitFacts:
    """One item that is asked for.  ``lanes``: when each piece of it is taken; ``kinds`` and ``processes``: with what it
    goes (empty: with anything); ``span``: when it is to be kept.
    """

    code: str
    name: str
    pieces: int
    span: Span
    lanes: Sequence[Sequence[Span]]
    kinds: frozenset[str] = frozenset()
    processes: frozenset[str] = frozenset()


def kept_span(stay: Span, from_end: timedelta | None, outlasts: timedelta) -> Span:
    """When an item is kept for a stay: throughout, or from so long before its end; and so long after it."""
    starts = stay.starts if from_end is None else max(stay.starts, stay.ends - from_end)
    # With 0 minutes before the end it begins at the end itself: the film is hung up when the stay is over.
    return Span(starts, max(stay.ends + outlasts, starts + timedelta(minutes=1)))


def free_pieces(item: KitFacts) -> int:
    """How many pieces are free throughout the item's span."""
    taken = [part for lane in item.lanes for span in lane if (part := span.clipped_to(item.span))]
    for used in range(len(item.lanes), 0, -1):
        if crowded(taken, used):
            return len(item.lanes) - used
    return len(item.lanes)


def kit_refusal(process: str | None, kind: str, kit: Sequence[KitFacts]) -> Refusal | None:
    """Does everything go with the station and the process, and is there enough of it?"""
    for item in kit:
        if (item.kinds and kind not in item.kinds) or (item.processes and process not in item.processes):
            return Refusal("bookings.kit_does_not_fit", {"item": item.name, "item_code": item.code})
        if item.pieces < 1 or item.pieces > len(item.lanes):
            facts = {"item": item.name, "item_code": item.code, "pieces": item.pieces, "all": len(item.lanes)}
            return Refusal("bookings.kit_too_many", facts)
        if weave_many(item.span, item.lanes, item.pieces) is None:
            facts = {"item": item.name, "item_code": item.code, "pieces": item.pieces, "left": free_pieces(item)}
            return Refusal("bookings.kit_taken", facts)
    return None
