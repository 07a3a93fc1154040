"""Reads for a tablet that goes on without the network: all that its page is drawn from, and what it logged by key."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from studiodesk.bookings.models import Booking
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Processor
from studiodesk.timekeeping import day_span, studio_day

from ..models import Feed, PaperClass, SheetSize
from ..rules.feeding import fits
from .sheets import all_sheets, bookings_of, by_nearness, feeder_of, sheet_of


@dataclass(frozen=True)
class Mouth:
    """One processor as its page shows it: the sizes it takes, the papers to choose from, today's bookings."""

    processor: Processor
    sizes: list[SheetSize]
    papers: list[PaperClass]
    bookings: list[Booking]


def mouths(now: datetime, zone: ZoneInfo) -> list[Mouth]:
    """Every processor; four questions however many there are."""
    sizes = [size for size in all_sheets() if not size.is_roll]
    named: dict[int, list[PaperClass]] = {}
    for row in PaperClass.processes.through.objects.select_related("paperclass").order_by(
        "paperclass__name", "paperclass"
    ):
        named.setdefault(row.process_id, []).append(row.paperclass)
    today = by_nearness(bookings_of(day_span(studio_day(now, zone), zone), now), now)
    found = []
    for processor in stations.processors():
        feeder, papers = feeder_of(processor, ()), named.get(processor.process_id, [])
        found.append(
            Mouth(
                processor=processor,
                sizes=[size for size in sizes if fits(feeder, sheet_of(size)) is None],
                papers=papers if len(papers) > 1 else [],
                bookings=[one for one in today if one.processor_id == processor.pk],
            )
        )
    return found


def access_booking_of_day(processor: Processor, pk: int, at: datetime, zone: ZoneInfo) -> Booking:
    """A booking at this processor that stood on the tablet's page at that moment.

    Also one that was given back since: whoever tapped it stood there.  ``Booking.DoesNotExist`` otherwise.
    """
    day = day_span(studio_day(at, zone), zone)
    return bookings_of(day, at, with_cancelled=True).filter(processor=processor).get(pk=pk)


def feed_by_tablet_key(key: UUID) -> Feed | None:
    return Feed.objects.select_related("processor", "sheet").filter(tablet_key=key).first()


def access_feed_by_key(key: UUID, *, tablet: Any) -> Feed:
    """What this tablet logged under this key; ``Feed.DoesNotExist`` otherwise."""
    return Feed.objects.select_related("processor", "sheet").get(tablet_key=key, tablet=tablet, undoes=None)
