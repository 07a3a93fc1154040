"""What the board says beside the baths' own standing."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, Q, Subquery

from studiodesk.stations.models import Job, Processor, ProcessorOpening
from studiodesk.timekeeping import studio_day

from ..rules.board_days import WorkingDay, working_day


def working_days(processors: Iterable[int], now: datetime, zone: ZoneInfo) -> dict[int, WorkingDay]:
    """Processor id → how it stands in its working day; two queries.

    Only of those whose opening is written down at all: they have a job at opening, or were opened once.
    """
    listed = list(processors)
    at_opening = Job.objects.filter(processor=OuterRef("pk"), occasion=Job.Occasion.OPENING, in_use=True)
    openings = ProcessorOpening.objects.filter(processor=OuterRef("pk"))
    kept = set(
        Processor.objects.filter(pk__in=listed)
        .filter(Q(Exists(at_opening)) | Q(Exists(openings)))
        .values_list("pk", flat=True)
    )
    newest = openings.filter(begun_at__lte=now).order_by("-begun_at", "-pk").values("pk")[:1]
    rows = Processor.objects.filter(pk__in=kept).annotate(newest=Subquery(newest)).values("newest")
    latest = {one.processor_id: one for one in ProcessorOpening.objects.filter(pk__in=rows)} if kept else {}
    today = studio_day(now, zone)
    out = {}
    for pk in kept:
        row = latest.get(pk)
        out[pk] = (
            working_day(row.begun_at, row.ready_at, row.closed_at, today, zone)
            if row
            else working_day(None, None, None, today, zone)
        )
    return out
