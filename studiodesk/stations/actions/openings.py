"""A processor's working day: begun, ready, closed, each by whom and when."""

from __future__ import annotations

from datetime import datetime

from studiodesk.acts import act, locked
from studiodesk.answers import Refusal, refuse
from studiodesk.journal.actions import record
from studiodesk.people.models import Member
from studiodesk.timekeeping import studio_day

from .. import job_queries, queries
from ..models import Processor, ProcessorOpening, Resource
from ..rules import jobs as rules
from .shift_rows import require


def _may(by: Member) -> None:
    if not by.may_run_the_house:
        refuse("stations.house_only", status=403)


@act
def begin_opening(*, processor: Processor, now: datetime, by: Member) -> ProcessorOpening:
    """Somebody starts to go through the list.  Pressed twice, the first time counts.

    Refused: ``stations.house_only``; ``stations.left_open`` if an earlier day was never closed.
    """
    _may(by)
    list(locked(Resource.objects.filter(pk=processor.resource_id)))
    there = job_queries.opening_of(processor)
    zone = queries.zone()
    if there is not None:
        if studio_day(there.begun_at, zone) != studio_day(now, zone):
            refuse("stations.left_open", processor=processor.name, at=there.begun_at)
        return there
    row = ProcessorOpening.objects.create(processor=processor, begun_at=now, begun_by=by)
    record(code="stations.opening_begun", happened_at=now, now=now, by=by, about=row, facts={"processor": processor.pk})
    return row


@act
def make_ready(*, opening: ProcessorOpening, now: datetime, by: Member) -> ProcessorOpening:
    """Every step of its opening is done or left out: it is ready for paper.  Pressed twice, the first time counts.

    Refused: ``stations.house_only``, ``stations.closed_already``, ``stations.steps_open``.
    """
    _may(by)
    row = _locked(opening)
    if row.ready_at is not None:
        return row
    _require_list(row, rules.OPENING, by)
    row.ready_at, row.ready_by = now, by
    row.save(update_fields=["ready_at", "ready_by"])
    record(code="stations.opened", happened_at=now, now=now, by=by, about=row, facts={"processor": row.processor_id})
    return row


@act
def close_processor(*, opening: ProcessorOpening, now: datetime, by: Member) -> ProcessorOpening:
    """Every step of its closing is done or left out.  Also one that was left open on an earlier day.

    Refused: ``stations.house_only``, ``stations.closed_already``, ``stations.steps_open``.
    """
    _may(by)
    row = _locked(opening)
    _require_list(row, rules.CLOSING, by)
    row.closed_at, row.closed_by = now, by
    row.save(update_fields=["closed_at", "closed_by"])
    record(code="stations.closed", happened_at=now, now=now, by=by, about=row, facts={"processor": row.processor_id})
    return row


def _locked(opening: ProcessorOpening) -> ProcessorOpening:
    row: ProcessorOpening = locked(ProcessorOpening.objects.filter(pk=opening.pk)).get()
    if row.closed_at is not None:
        refuse("stations.closed_already", at=row.closed_at)
    return row


def _require_list(row: ProcessorOpening, occasion: str, by: Member) -> None:
    names = [one.job.name for one in job_queries.steps(row.processor, occasion, row, by) if one.is_open]
    require(Refusal("stations.steps_open", {"processor": row.processor.name, "steps": names}) if names else None)
