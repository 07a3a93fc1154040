"""The past as a file tells it, in bulk: rows are written as they were, then the tanks are recounted.

Nobody is told and no alert is raised; ``settle_alerts`` sets them afterwards.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import fields
from datetime import datetime
from typing import Any

from django.db.models import Model

from studiodesk.acts import act
from studiodesk.journal.actions import record
from studiodesk.parts import AT_A_TIME, in_parts
from studiodesk.stations import queries as stations

from ..models import Bath, BathEntry, Feed, StripReading
from ..rules.past import PastEntry, PastFeed, PastStrip
from . import tanks


def _new(model: type[Model], rows: Sequence[Any]) -> list[Any]:
    """The rows whose key is not there yet, each key once."""
    there: set[str] = set()
    for keys in in_parts(row.file_key for row in rows):
        there.update(model._default_manager.filter(file_key__in=keys).values_list("file_key", flat=True))
    out = []
    for row in rows:
        if row.file_key not in there:
            there.add(row.file_key)
            out.append(row)
    return out


def _write(model: type[Model], rows: Sequence[Any], now: datetime, code: str) -> None:
    """The rows as they are: a past row has its table's fields under the same names."""
    values = [{field.name: getattr(row, field.name) for field in fields(row)} for row in rows]
    model._default_manager.bulk_create([model(**row, recorded_at=now) for row in values], batch_size=AT_A_TIME)
    record(code=code, happened_at=now, now=now, facts={"rows": len(rows)})


def _recounted(baths: Iterable[Bath]) -> None:
    baths = list(baths)
    held = tanks.lock({bath.processor for bath in baths})
    for bath in baths:
        tanks.rebuild(held, bath, everything=True)


@act
def record_past_feeds(rows: Sequence[PastFeed], now: datetime) -> int:
    """Write sheets that went through; answers how many were new.  The rows were checked by whoever read the file."""
    new = _new(Feed, rows)
    if new:
        tanks.lock(list(stations.processors().filter(pk__in={row.processor_id for row in new})))
        _write(Feed, new, now, "chemistry.past_sheets")
        _recounted(Bath.objects.select_related("processor").filter(processor__in={row.processor_id for row in new}))
    return len(new)


@act
def record_past_entries(rows: Sequence[PastEntry], now: datetime) -> int:
    """Write what was done to baths; answers how many were new."""
    new = _new(BathEntry, rows)
    if new:
        touched = Bath.objects.select_related("processor").filter(pk__in={row.bath_id for row in new})
        tanks.lock({bath.processor for bath in touched})
        _write(BathEntry, new, now, "chemistry.past_entries")
        _recounted(touched)
    return len(new)


@act
def record_past_strips(rows: Sequence[PastStrip], now: datetime) -> int:
    """Write control strip readings; answers how many were new."""
    new = _new(StripReading, rows)
    if new:
        _write(StripReading, new, now, "chemistry.past_strips")
    return len(new)
