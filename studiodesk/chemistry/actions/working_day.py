"""A processor's working day and the jobs that recur, with what they do to baths and alerts."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from studiodesk.acts import act
from studiodesk.people.models import Member
from studiodesk.stations import actions as stations
from studiodesk.stations import job_queries
from studiodesk.stations import queries as house
from studiodesk.stations.models import Job, JobDone, Processor, ProcessorOpening
from studiodesk.timekeeping import studio_day

from ..models import Alert, Bath, Fill
from ..queries import reckoning
from ..rules import alerts as rules
from ..rules import entering
from .alerts import clear_alert, raise_alert
from .entries import record_bath_entry


def _key(kind: str, job: Job) -> str:
    return rules.key_of(kind, "job", job.pk)


@act
def do_job(
    *,
    job: Job,
    now: datetime,
    by: Member,
    value: Decimal | None = None,
    note: str = "",
    left_out: bool = False,
    opening: ProcessorOpening | None = None,
) -> JobDone:
    """It was done or left out; a reading out of tolerance raises an alert, one within it clears it.

    Refused as ``stations.actions.do_job`` is.
    """
    done = stations.do_job(job=job, now=now, by=by, value=value, note=note, left_out=left_out, opening=opening)
    _set_alerts(done.job, now, by)
    return done


@act
def take_back_job(*, done: JobDone, now: datetime, by: Member) -> JobDone:
    """A line that was wrong does not count, and what it raised or cleared is looked at again."""
    undone = stations.take_back_job(done=done, now=now, by=by)
    _set_alerts(undone.job, now, by)
    return undone


def _set_alerts(job: Job, now: datetime, by: Member | None) -> None:
    """By the latest line that holds: is it out of tolerance, is the job overdue?"""
    last = job_queries.held().filter(job=job).order_by("at", "pk").last()
    if last is not None and not last.in_tolerance:
        facts = {"value": _text(last.value), "unit": job.unit}
        facts |= {"at_least": _text(job.at_least), "at_most": _text(job.at_most)}
        known = {name: value for name, value in facts.items() if value}
        raise_alert(
            kind=rules.TEMPERATURE,
            key=_key(rules.TEMPERATURE, job),
            job=job,
            processor=job.processor,
            since=last.at,
            facts=known,
            now=now,
            by=by,
        )
    else:
        clear_alert(key=_key(rules.TEMPERATURE, job), now=now, by=by)
    zone = house.zone()
    if job.pk not in {one.pk for one, _day in job_queries.overdue(now, zone)}:
        clear_alert(key=_key(rules.JOB_OVERDUE, job), now=now, by=by)


def _text(value: Decimal | None) -> str:
    return "" if value is None else f"{value.normalize():f}"


@act
def make_ready(*, opening: ProcessorOpening, now: datetime, by: Member) -> ProcessorOpening:
    """Ready for paper: each bath that asks for replenishment at an opening asks now, once an opening.

    Refused as ``stations.actions.make_ready`` is.
    """
    was_ready = ProcessorOpening.objects.values_list("ready_at", flat=True).get(pk=opening.pk)
    row = stations.make_ready(opening=opening, now=now, by=by)
    if was_ready is None:
        for bath, figures in _figures(row.processor, now):
            if figures.replenished and figures.start_up_pl > 0:
                record_bath_entry(
                    bath=bath, event=entering.START_UP, at=now, now=now, amount_pl=figures.start_up_pl, by=by
                )
    return row


@act
def close_processor(*, opening: ProcessorOpening, now: datetime, by: Member) -> ProcessorOpening:
    """Closed: what is poured away at every closing is written down as poured away.

    Refused as ``stations.actions.close_processor`` is.
    """
    row = stations.close_processor(opening=opening, now=now, by=by)
    for bath, figures in _figures(row.processor, now):
        stands = reckoning.state_of(Fill.objects.filter(bath=bath, ended_at=None).first())
        if figures.dumped_at_closing and stands.dumped_at is None:
            record_bath_entry(bath=bath, event=entering.DUMPED, at=now, now=now, by=by)
    clear_alert(key=rules.key_of(rules.NOT_CLOSED, "processor", row.processor_id), now=now, by=by)
    return row


def _figures(processor: Processor, now: datetime) -> list[tuple[Bath, Any]]:
    baths = list(Bath.objects.filter(processor=processor).order_by("pk"))
    histories = reckoning.histories([bath.pk for bath in baths])
    return [(bath, histories[bath.pk].at(now)) for bath in baths if bath.pk in histories]


@act
def review_jobs(*, now: datetime) -> int:
    """What time alone brings: jobs whose day went by, processors left open.  Gives how many alerts are new."""
    zone = house.zone()
    before = Alert.objects.filter(cleared_at=None).count()
    late = job_queries.overdue(now, zone)
    for job, day in late:
        key = _key(rules.JOB_OVERDUE, job)
        raise_alert(kind=rules.JOB_OVERDUE, key=key, job=job, processor=job.processor, now=now, facts={"day": str(day)})
    open_ones = Alert.objects.filter(kind=rules.JOB_OVERDUE, cleared_at=None).exclude(job__in=[job for job, _d in late])
    for alert in open_ones:
        clear_alert(key=alert.key, now=now)
    for row in ProcessorOpening.objects.filter(closed_at=None).select_related("processor"):
        if studio_day(row.begun_at, zone) < studio_day(now, zone):
            key = rules.key_of(rules.NOT_CLOSED, "processor", row.processor_id)
            raise_alert(
                kind=rules.NOT_CLOSED, key=key, processor=row.processor, since=row.begun_at, late=False, now=now
            )
    return Alert.objects.filter(cleared_at=None).count() - before
