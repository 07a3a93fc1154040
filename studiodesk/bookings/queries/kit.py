"""Kit: what goes with a station and a process, how much of it is free then, and until when a booking keeps it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from studiodesk.stations.models import KitItem, Process, Station
from studiodesk.timekeeping import Span

from ..models import Booking
from ..rules.kit import KitFacts, free_pieces, kept_span
from .persons import kit_of
from .touching import holds_touching


@dataclass(frozen=True)
class KitChoice:
    """An item that can be taken along: so many pieces of it are free for the stay, and are kept for ``kept``."""

    item: KitItem
    free: int
    kept: Span

    @property
    def outlasts(self) -> bool:
        return bool(self.item.outlasts_minutes)


def lent_out() -> list[KitItem]:
    """Every item of which there is at least one piece, by sort and name."""
    return list(KitItem.objects.filter(pieces__gt=0))


def kept_of(item: KitItem, stay: Span) -> Span:
    from_end = None if item.from_end_minutes is None else timedelta(minutes=item.from_end_minutes)
    return kept_span(stay, from_end, timedelta(minutes=item.outlasts_minutes))


def goes_with(item: KitItem, station: Station, process: Process | None) -> bool:
    """As the act decides it."""
    if item.kinds and station.kind not in item.kinds:
        return False
    return not item.process_codes or (process is not None and process.code in item.process_codes)


def kit_choices(
    items: Iterable[KitItem],
    station: Station,
    process: Process | None,
    stay: Span,
    leaving_out: Booking | None = None,
) -> list[KitChoice]:
    """What goes with the station and the process, with how many are free then: one query."""
    fitting = [item for item in items if goes_with(item, station, process)]
    if not fitting:
        return []
    kept = {item.pk: kept_of(item, stay) for item in fitting}
    window = Span(min(span.starts for span in kept.values()), max(span.ends for span in kept.values()))
    rows = holds_touching(window).filter(lane__resource_id__in=[item.resource_id for item in fitting])
    if leaving_out is not None:
        rows = rows.exclude(booking_id=leaving_out.pk)
    taken: dict[tuple[int, int], list[Span]] = defaultdict(list)
    for resource, number, starts, ends in rows.values_list("lane__resource_id", "lane__number", "starts", "ends"):
        taken[resource, number].append(Span(starts, ends))
    return [
        KitChoice(
            item,
            free_pieces(
                KitFacts(
                    code=item.code,
                    name=item.name,
                    pieces=1,
                    span=kept[item.pk],
                    lanes=[taken[item.resource_id, number] for number in range(1, item.pieces + 1)],
                )
            ),
            kept[item.pk],
        )
        for item in fitting
    ]


@dataclass(frozen=True)
class Taken:
    """What a booking takes along; ``until`` where it is kept longer than the booking."""

    item: KitItem
    pieces: int
    starts: datetime
    until: datetime | None


def taken_along(booking: Booking) -> list[Taken]:
    stay = Span(booking.starts, booking.ends)
    found = []
    for item, pieces in kit_of(booking):
        kept = kept_of(item, stay)
        found.append(Taken(item, pieces, kept.starts, kept.ends if kept.ends > stay.ends else None))
    return found
