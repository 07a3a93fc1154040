"""What an import of bookings looks at: known references, and what stands in the lanes already."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from studiodesk.parts import in_parts
from studiodesk.timekeeping import Span

from ..models import Booking, ZoneHold
from .touching import LONGEST_HOLD, holds_touching


def references_known(references: Sequence[str]) -> set[str]:
    """Those of ``references`` that a booking carries already."""
    known: set[str] = set()
    for part in in_parts(references):
        known.update(Booking.objects.filter(reference__in=part).values_list("reference", flat=True))
    return known


def standing_in(lane_ids: Sequence[int], window: Span) -> dict[int, list[tuple[Span, str]]]:
    """Lane id → what it is held for within ``window``, in time order, with the booking's reference or the cause."""
    out: dict[int, list[tuple[Span, str]]] = defaultdict(list)
    rows = holds_touching(window).filter(lane_id__in=lane_ids).order_by("lane_id", "starts")
    for lane, starts, ends, reference, cause in rows.values_list(
        "lane_id", "starts", "ends", "booking__reference", "cause"
    ):
        out[lane].append((Span(starts, ends), reference or cause))
    return out


def zone_is_of_another_light(zone_id: int, light: str, span: Span) -> bool:
    rows = ZoneHold.objects.filter(
        zone_id=zone_id, starts__lt=span.ends, starts__gt=span.starts - LONGEST_HOLD, ends__gt=span.starts
    )
    return rows.exclude(light=light).exists()
