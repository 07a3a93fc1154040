"""A log that a tablet kept until it could send it: counted once, however often it comes."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import IntegrityError

from studiodesk.acts import act
from studiodesk.answers import refuse
from studiodesk.stations.models import Processor

from ..models import Feed, PaperClass, SheetSize
from ..queries.tablet import feed_by_tablet_key
from .sheets import log_sheets


@act
def log_from_tablet(
    *,
    key: UUID,
    processor: Processor,
    sheet: SheetSize,
    sheets: int,
    kind: str,
    who: str,
    fed_at: datetime,
    now: datetime,
    tablet: Any,
    booking: Any = None,
    paper: PaperClass | None = None,
) -> Feed:
    """``log_sheets`` under the key that the tablet made at the tap.

    The answers kept for a second press are forgotten after a week and belong to one tablet; the key in the row itself
    is unique for good, also for a tablet that was enrolled anew in between.  The same key again gives the same row.
    Refused: as ``log_sheets``, and ``journal.key_used_before`` for other sheets under a key that is counted already.
    """
    counted = feed_by_tablet_key(key)
    if counted is None:
        try:
            return log_sheets(
                processor=processor,
                sheet=sheet,
                sheets=sheets,
                kind=kind,
                who=who,
                booking=booking,
                paper=paper,
                fed_at=fed_at,
                now=now,
                tablet=tablet,
                tablet_key=key,
            )
        except IntegrityError:  # the same log came twice at once, and the other was first
            counted = feed_by_tablet_key(key)
            if counted is None:
                raise
    before = (counted.processor_id, counted.sheet_id, counted.sheets, counted.kind, counted.who)
    chosen = (counted.booking_id, counted.paper_id)
    same = before == (processor.pk, sheet.pk, sheets, kind, who)
    if not same or chosen != (booking.pk if booking else None, paper.pk if paper else None):
        refuse("journal.key_used_before", status=422)
    return counted
