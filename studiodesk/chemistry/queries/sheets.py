"""Reads for logging sheets: the processor, its sizes, who may have fed them, what was logged last."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Q, QuerySet, Sum

from studiodesk.bookings.models import Booking, GroupStay
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Process, Processor
from studiodesk.timekeeping import Span

from ..models import Feed, PaperClass, SheetSize
from ..rules.feeding import Feeder, Sheet, fits

LOOK_BACK = timedelta(hours=3)


def without_sheets(bookings: list[int]) -> set[int]:
    """Of these bookings, by id, those for which no sheets that still count were logged; one query."""
    if not bookings:
        return set()
    counting = Feed.objects.filter(booking__in=bookings, undoes=None, undone_by=None)
    return set(bookings) - set(counting.values_list("booking", flat=True))


def logged_for(booking: Booking) -> list[Feed]:
    """What was logged for one booking and still counts, in the order of going through."""
    counting = Feed.objects.filter(booking=booking, undoes=None, undone_by=None)
    return list(counting.select_related("sheet").order_by("fed_at", "pk"))


def logged_for_group(group: GroupStay) -> list[Feed]:
    """What was logged for a group at one of its times, taken back or not, the latest first."""
    rows = Feed.objects.filter(group=group, undoes=None).select_related("processor", "sheet", "undone_by")
    return list(rows.order_by("-recorded_at", "-pk"))


def access_processor(code: str) -> Processor:
    """One processor; ``Processor.DoesNotExist`` otherwise.  Whoever may log at all may log at each."""
    return stations.access_processor(code)


def feeder_of(processor: Processor, papers: Iterable[str] | None = None) -> Feeder:
    """``papers``: the codes of the classes of its process, where they are known already."""
    process = processor.process
    if papers is None:
        papers = process.papers.values_list("code", flat=True)
    return Feeder(
        processor.name,
        processor.feed_width_mm,
        processor.shortest_feed_mm,
        takes_film=process.material == Process.Material.FILM,
        papers=frozenset(papers),
    )


def sheet_of(size: SheetSize) -> Sheet:
    return Sheet(size.label, size.width_mm, size.length_mm, size.sort, size.film_area_mm2)


def all_sheets() -> QuerySet[SheetSize]:
    """The sizes in use, the smallest first."""
    return SheetSize.objects.filter(in_use=True).order_by("width_mm", "length_mm", "pk")


def sheets_for(processor: Processor, *, with_rolls: bool = False) -> list[SheetSize]:
    """The sizes of the studio's list that this processor takes, the smallest first.

    Of a roll the length has to be written, so that a page of tiles leaves rolls out.
    """
    feeder = feeder_of(processor, ())
    return [size for size in all_sheets() if (with_rolls or not size.is_roll) and fits(feeder, sheet_of(size)) is None]


def papers_for(processor: Processor) -> list[PaperClass]:
    """The classes of paper that its process names; where it names one or none there is nothing to choose."""
    found = list(PaperClass.objects.filter(processes=processor.process_id).order_by("name", "pk"))
    return found if len(found) > 1 else []


def all_papers() -> QuerySet[PaperClass]:
    return PaperClass.objects.order_by("name", "pk")


def access_size(code: str) -> SheetSize:
    """Any size of the list, in use or not; ``SheetSize.DoesNotExist`` otherwise."""
    return SheetSize.objects.get(code=code)


def access_paper(code: str) -> PaperClass:
    return PaperClass.objects.get(code=code)


def bookings_of(day: Span, now: datetime, *, with_cancelled: bool = False) -> QuerySet[Booking]:
    """The day's bookings that take a place at a processor, in time order.

    One of the evening stays on the list over midnight: those that ended up to three hours ago are asked for too.
    """
    found = Booking.objects.filter(
        processor__isnull=False, starts__lt=day.ends, ends__gt=min(day.starts, now - LOOK_BACK)
    )
    if not with_cancelled:
        found = found.filter(cancelled_at=None)
    return found.select_related("member", "station", "processor").order_by("starts", "pk")


def who_today(processor: Processor, day: Span, now: datetime) -> list[Booking]:
    """All of today's bookings at this processor: whoever is in now first, then the nearest in time."""
    return by_nearness(bookings_of(day, now).filter(processor=processor), now)


def by_nearness(bookings: Iterable[Booking], now: datetime) -> list[Booking]:
    """Whoever is in now first, then the nearest in time."""

    def away(booking: Booking) -> tuple[bool, timedelta]:
        return not is_in(booking, now), max(booking.starts - now, now - booking.ends, timedelta())

    return sorted(bookings, key=away)


def is_in(booking: Booking, now: datetime) -> bool:
    """Somebody who came and has not left, or whose time it is."""
    if booking.left_at is not None and booking.left_at <= now:
        return False
    return booking.arrived_at is not None or booking.starts <= now < booking.ends


def usual_size(processor: Processor) -> SheetSize | None:
    """The size that is printed most at this processor; before the first print the middle of what it takes."""
    printed = Feed.objects.filter(processor=processor, kind=Feed.Kind.PRINT, undoes=None, undone_by=None)
    printed = printed.exclude(sheet__sort=SheetSize.Sort.ROLL)
    most = printed.values("sheet").annotate(sheets_in_all=Sum("sheets")).order_by("-sheets_in_all", "sheet").first()
    if most:
        return SheetSize.objects.get(pk=most["sheet"])
    sizes = sheets_for(processor)
    return sizes[len(sizes) // 2] if sizes else None


def all_processors() -> QuerySet[Processor]:
    return stations.processors()


def access_booking_here(processor: Processor, pk: int) -> Booking:
    """A booking that stands at this processor; ``Booking.DoesNotExist`` otherwise."""
    return Booking.objects.select_related("member").get(pk=pk, processor=processor)


def access_any_booking(pk: int) -> Booking:
    """For the desk: any booking."""
    return Booking.objects.select_related("member", "processor").get(pk=pk)


def member_by_number(number: str) -> Member | None:
    """The person who comes here under this number, or None."""
    return Member.objects.filter(number__iexact=number.strip(), is_active=True).first()


def access_feed(pk: int, *, tablet: Any = None) -> Feed:
    """A log that may be looked at to take it back: a tablet's own, at the desk any."""
    feeds = Feed.objects.select_related("processor", "sheet").filter(undoes=None)
    return (feeds.filter(tablet=tablet) if tablet is not None else feeds).get(pk=pk)


def last_log(processor: Processor, since: datetime, *, tablet: Any = None, by: Any = None) -> Feed | None:
    """The last sheets logged there since a moment by this tablet (or person) that still count."""
    mine = Q(tablet=tablet) if tablet is not None else Q(recorded_by=by)
    return (
        Feed.objects.filter(mine, processor=processor, undoes=None, undone_by=None, recorded_at__gte=since)
        .select_related("sheet", "paper")
        .order_by("-recorded_at", "-pk")
        .first()
    )


def logged_today(day: Span) -> QuerySet[Feed]:
    """What was logged today at a tablet or the desk, the latest first; what was taken back is marked by its row."""
    return (
        Feed.objects.filter(undoes=None, file_key=None, recorded_at__gte=day.starts, recorded_at__lt=day.ends)
        .select_related("processor", "sheet", "member", "undone_by")
        .order_by("-recorded_at", "-pk")
    )
