"""Logging sheets through a processor, and taking a log back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from studiodesk.acts import act
from studiodesk.answers import Refused, refuse
from studiodesk.bookings.models import GroupStay
from studiodesk.bookings.queries.groups_in import group_at
from studiodesk.journal.actions import record
from studiodesk.stations.models import Processor
from studiodesk.timekeeping import studio_day

from ..models import Feed, PaperClass, SheetSize
from ..queries import reckoning
from ..queries.sheets import feeder_of, sheet_of
from ..rules.feeding import counted_area_mm2, may_log, may_undo
from . import tanks
from .alerts import set_alerts


@act
def log_sheets(
    *,
    processor: Processor,
    sheet: SheetSize,
    sheets: int,
    kind: str,
    who: str,
    fed_at: datetime,
    now: datetime,
    member: Any = None,
    booking: Any = None,
    group: GroupStay | None = None,
    paper: PaperClass | None = None,
    length_mm: int | None = None,
    by: Any = None,
    tablet: Any = None,
    tablet_key: UUID | None = None,
) -> Feed:
    """Sheets went through: written down, counted into every bath of the processor, and the desk told at once.

    ``who``: "booking" (with ``booking``), "member" (with ``member``), "walk-in", "class", "house" or "unknown".  A
    class's sheets are ``group``'s; without it those of the group that has the processor at ``fed_at``, if one has.
    ``paper``: its class, None for the process's own; ``length_mm``: of one piece off a roll, of nothing else;
    ``tablet_key``: what ``log_from_tablet`` tells a log by.
    Refused: chemistry.too_wide, too_short, no_sheets, too_many_sheets, in_the_future, too_long_ago, who_needed,
    booking_elsewhere, film_in_paper, paper_in_film, paper_elsewhere, length_needed, length_absurd,
    length_only_of_rolls.
    """
    refusal = may_log(
        feeder_of(processor, None if paper is not None else ()),
        sheet_of(sheet),
        sheets,
        fed_at,
        now,
        on_tablet=tablet is not None,
        paper=paper.code if paper is not None else "",
        length_mm=length_mm,
    )
    if refusal:
        raise Refused(refusal)
    if kind not in Feed.Kind.values or who not in Feed.Who.values:
        raise ValueError(f"no such kind or person: {kind!r}, {who!r}")
    if who == Feed.Who.BOOKING:
        if booking is None:
            refuse("chemistry.who_needed")
        if booking.processor_id != processor.pk:
            refuse("chemistry.booking_elsewhere", here=processor.name, there=booking.processor.name)
        member = booking.member
    elif who == Feed.Who.MEMBER and member is None:
        refuse("chemistry.who_needed")
    if who == Feed.Who.CLASS and group is None:
        group = group_at(processor, fed_at)
    held = tanks.lock([processor])
    feed = Feed.objects.create(
        processor=processor,
        fed_at=fed_at,
        recorded_at=now,
        sheet=sheet,
        sheets=sheets,
        sheet_area_mm2=counted_area_mm2(sheet_of(sheet), kind, length_mm),
        paper=paper,
        length_mm=length_mm,
        kind=kind,
        who=who,
        member=member if who in (Feed.Who.BOOKING, Feed.Who.MEMBER) else None,
        booking=booking if who == Feed.Who.BOOKING else None,
        group=group if who == Feed.Who.CLASS else None,
        recorded_by=by,
        tablet=tablet,
        tablet_key=tablet_key,
    )
    record(
        code="chemistry.sheets_through",
        happened_at=fed_at,
        now=now,
        by=by,
        tablet=tablet,
        about=feed,
        facts={"processor": processor.pk, "sheet": sheet.pk, "sheets": sheets, "mm2": feed.sheet_area_mm2 * sheets},
    )
    for bath in held.baths:
        tanks.take_in(held, bath, reckoning.sheets_event(feed))
        set_alerts(bath=bath, stands=tanks.now_standing(held, bath, now), now=now, may_end=False, by=by)
    return feed


@act
def undo_sheets(*, feed: Feed, now: datetime, by: Any = None, tablet: Any = None) -> Feed:
    """Take a log back: a row of its own that names it; the sums are recounted without it.

    Refused: chemistry.already_undone, from_a_file, too_late_to_undo (a tablet: only its last, 15 minutes),
    not_of_today.
    """
    held = tanks.lock([feed.processor])
    counting = Feed.objects.filter(undoes=None, undone_by=None)
    last = counting.filter(tablet=tablet).order_by("-recorded_at", "-pk").first() if tablet is not None else None
    refusal = may_undo(
        is_their_last=last is not None and last.pk == feed.pk,
        already_undone=feed.undoes_id is not None or Feed.objects.filter(undoes=feed).exists(),
        recorded_at=feed.recorded_at,
        now=now,
        on_tablet=tablet is not None,
        same_day=studio_day(feed.recorded_at, held.zone) == studio_day(now, held.zone),
        from_a_file=feed.file_key is not None,
    )
    if refusal:
        raise Refused(refusal)
    undo = Feed.objects.create(
        processor=feed.processor,
        fed_at=feed.fed_at,
        recorded_at=now,
        sheet_id=feed.sheet_id,
        sheets=feed.sheets,
        sheet_area_mm2=feed.sheet_area_mm2,
        paper_id=feed.paper_id,
        length_mm=feed.length_mm,
        kind=feed.kind,
        who=feed.who,
        member_id=feed.member_id,
        booking_id=feed.booking_id,
        group_id=feed.group_id,
        recorded_by=by,
        tablet=tablet,
        undoes=feed,
    )
    record(
        code="chemistry.sheets_undone",
        happened_at=now,
        now=now,
        by=by,
        tablet=tablet,
        about=undo,
        facts={"undoes": feed.pk, "sheets": feed.sheets},
    )
    for bath in held.baths:
        tanks.recount_at(held, bath, feed.fed_at)
        set_alerts(bath=bath, stands=tanks.now_standing(held, bath, now), now=now, may_end=True, by=by)
    return undo


@act
def log_group_sheets(
    *,
    group: GroupStay,
    processor: Processor,
    sheets: Sequence[tuple[SheetSize, int]],
    kind: str,
    fed_at: datetime,
    now: datetime,
    by: Any,
) -> list[Feed]:
    """What a whole class or group put through one processor, size by size, as one entry: all of it or nothing.

    Refused as ``log_sheets`` is, and ``chemistry.no_sheets`` for an empty list.
    """
    if not sheets:
        refuse("chemistry.no_sheets")
    return [
        log_sheets(
            processor=processor,
            sheet=sheet,
            sheets=number,
            kind=kind,
            who=Feed.Who.CLASS,
            group=group,
            fed_at=fed_at,
            now=now,
            by=by,
        )
        for sheet, number in sheets
    ]
