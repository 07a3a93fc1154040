"""Time out of service: who stands in it, and what is left of it when some of it is given back.  Pure."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from datetime import datetime

from studiodesk.answers import Refusal
from studiodesk.timekeeping import Span, without


def still_to_come(span: Span, now: datetime) -> Span | None:
    """The part of ``span`` from ``now`` on; None if all of it has gone by."""
    return Span(max(span.starts, now), span.ends) if span.ends > now else None


def freed(given_back: Span, now: datetime) -> Span | Refusal:
    """What can be given back of a time: never what has gone by."""
    return still_to_come(given_back, now) or Refusal("bookings.in_the_past", {"starts": given_back.starts})


def left_of(out: Span, given_back: Span) -> list[Span]:
    """What is still out of service when ``given_back`` is not: nothing, one piece, or one on either side."""
    return without([out], [given_back])


def owner_of(piece: Span, remnants: Sequence[Span]) -> int | None:
    """Which of the remnants a piece of a closure belongs to from now on; None if to none of them."""
    return next((number for number, span in enumerate(remnants) if span.covers(piece)), None)


def is_clear_of(uses: Iterable[tuple[int, Span]], out: dict[int, list[Span]]) -> bool:
    """True if nothing that a stay uses (resource and when) is out of service then."""
    return not any(span.overlaps(other) for resource, span in uses for other in out.get(resource, ()))


def lies_open(stay: Span, opened: Sequence[Span]) -> bool:
    """True if one opening holds all of the stay; ``opened`` is in time order and nothing in it overlaps."""
    at = bisect_right(opened, stay.starts, key=lambda span: span.starts) - 1
    return at >= 0 and opened[at].covers(stay)
