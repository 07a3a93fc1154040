"""The past as a file tells it, in bulk: rows are written as they were, then the tanks are recounted.

Nobody is told and no alert is raised; ``settle_alerts`` sets them afterwards.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from django.db.models import Model

from studiodesk.acts import act
from studiodesk.journal.actions import record
from studiodesk.stations import queries as stations

from ..models import Bath, BathEntry, Feed, StripReading
from ..rules.past import PastEntry, PastFeed, PastStrip
from . import tanks

AT_A_TIME = 500


def _new(model: type[Model], rows: Sequence[Any]) -> list[Any]:
    """The rows whose key is not there yet, each key once."""
    keys = [row.file_key for row in rows]
    there: set[str] = set()
    for start in range(0, len(keys), AT_A_TIME):
        some = model._default_manager.filter(file_key__in=keys[start : start + AT_A_TIME])
        there.update(some.values_list("file_key", flat=True))
    out = []
    for row in rows:
        if row.file_key not in there:
            there.add(row.file_key)
            out.append(row)
    return out


def _recounted(baths: Iterable[Bath]) -> None:
    baths = list(baths)
    held = tanks.lock({bath.processor for bath in baths})
    for bath in baths:
        tanks.rebuild(held, bath, everything=True)


def _noted(code: str, rows: int, now: datetime) -> None:
    record(code=code, happened_at=now, now=now, facts={"rows": rows})


@act
def record_past_feeds(rows: Sequence[PastFeed], now: datetime) -> int:
    """Write sheets that went through; answers how many were new.  The rows were checked by whoever read the file."""
    new = _new(Feed, rows)
    if not new:
        return 0
    tanks.lock(list(stations.processors().filter(pk__in={row.processor_id for row in new})))
    Feed.objects.bulk_create(
        [
            Feed(
                processor_id=row.processor_id,
                fed_at=row.fed_at,
                recorded_at=now,
                sheet_id=row.sheet_id,
                sheets=row.sheets,
                sheet_area_mm2=row.sheet_area_mm2,
                kind=row.kind,
                who=row.who,
                member_id=row.member_id,
                booking_id=row.booking_id,
                file_key=row.file_key,
            )
            for row in new
        ],
        batch_size=AT_A_TIME,
    )
    _recounted(Bath.objects.select_related("processor").filter(processor__in={row.processor_id for row in new}))
    _noted("chemistry.past_sheets", len(new), now)
    return len(new)


@act
def record_past_entries(rows: Sequence[PastEntry], now: datetime) -> int:
    """Write what was done to baths; answers how many were new."""
    new = _new(BathEntry, rows)
    if not new:
        return 0
    touched = Bath.objects.select_related("processor").filter(pk__in={row.bath_id for row in new})
    tanks.lock({bath.processor for bath in touched})
    BathEntry.objects.bulk_create(
        [
            BathEntry(
                bath_id=row.bath_id,
                event=row.event,
                at=row.at,
                recorded_at=now,
                amount_pl=row.amount_pl,
                silver_ug_per_l=row.silver_ug_per_l,
                note=row.note,
                file_key=row.file_key,
            )
            for row in new
        ],
        batch_size=AT_A_TIME,
    )
    _recounted(touched)
    _noted("chemistry.past_entries", len(new), now)
    return len(new)


@act
def record_past_strips(rows: Sequence[PastStrip], now: datetime) -> int:
    """Write control strip readings; answers how many were new."""
    new = _new(StripReading, rows)
    if not new:
        return 0
    StripReading.objects.bulk_create(
        [
            StripReading(
                processor_id=row.processor_id,
                read_at=row.read_at,
                recorded_at=now,
                patch=row.patch,
                channel=row.channel,
                aim=row.aim,
                reading=row.reading,
                file_key=row.file_key,
            )
            for row in new
        ],
        batch_size=AT_A_TIME,
    )
    _noted("chemistry.past_strips", len(new), now)
    return len(new)
