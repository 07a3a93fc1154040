"""Jobs that recur: keeping the list of them, writing down that one was done, taking that back."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from studiodesk.acts import act, locked
from studiodesk.answers import refuse
from studiodesk.journal.actions import record
from studiodesk.people.models import Member
from studiodesk.timekeeping import studio_day

from .. import job_queries, queries
from ..models import Job, JobDone, Processor, ProcessorOpening
from ..rules import jobs as rules
from .shift_rows import only_staff, require

KEPT = (
    "name",
    "how",
    "caution",
    "processor",
    "occasion",
    "every_days",
    "first_day",
    "position",
    "who",
    "asks",
    "unit",
    "at_least",
    "at_most",
    "in_use",
)


@act
def keep_job(
    *,
    code: str,
    name: str,
    occasion: str,
    now: datetime,
    by: Member | None = None,
    how: str = "",
    caution: str = "",
    processor: Processor | None = None,
    every_days: int | None = None,
    first_day: date | None = None,
    position: int = 0,
    who: str = rules.KEYHOLDER,
    asks: str = rules.TICK,
    unit: str = "",
    at_least: Decimal | None = None,
    at_most: Decimal | None = None,
    in_use: bool = True,
) -> tuple[Job, bool]:
    """A job with this code, made or changed; answers the row and whether anything changed.

    A job of every so many days is due for the first time on ``first_day`` (None: today).  ``by`` None is the house
    itself.  Refused: ``stations.staff_only``, ``stations.job_*`` for what contradicts itself, and
    ``stations.job_needs_processor`` for a step of opening, closing or changing that names none.
    """
    if by is not None:
        only_staff(by)
    if occasion == rules.DAYS and first_day is None:
        first_day = studio_day(now, queries.zone())
    values = {
        "name": name.strip(),
        "how": how.strip(),
        "caution": caution.strip(),
        "processor": processor,
        "occasion": occasion,
        "every_days": every_days,
        "first_day": first_day if occasion == rules.DAYS else None,
        "position": position,
        "who": who,
        "asks": asks,
        "unit": unit.strip(),
        "at_least": at_least,
        "at_most": at_most,
        "in_use": in_use,
    }
    wanted = Job(code=code, **values)
    require(rules.describing_refusal(job_queries.facts_of(wanted)))
    if occasion != rules.DAYS and processor is None:
        refuse("stations.job_needs_processor", job=values["name"])
    row = locked(Job.objects.filter(code=code)).first()
    if row is None:
        row = Job.objects.create(code=code, **values)
        record(code="stations.job_kept", happened_at=now, now=now, by=by, about=row, facts={"job": code})
        return row, True
    before = {name_: getattr(row, name_) for name_ in KEPT}
    if before == values:
        return row, False
    for name_, value in values.items():
        setattr(row, name_, value)
    row.save(update_fields=list(KEPT))
    changed = sorted(name_ for name_ in KEPT if before[name_] != values[name_])
    record(
        code="stations.job_changed", happened_at=now, now=now, by=by, about=row, facts={"job": code, "what": changed}
    )
    return row, True


@act
def do_job(
    *,
    job: Job,
    now: datetime,
    by: Member,
    at: datetime | None = None,
    value: Decimal | None = None,
    note: str = "",
    left_out: bool = False,
    opening: ProcessorOpening | None = None,
) -> JobDone:
    """It was done (at ``at``, None: now), or left out with a reason.  A reading out of tolerance is kept as it is.

    Refused: ``stations.job_not_yours``, ``stations.job_not_in_use``, ``stations.in_the_future``,
    ``stations.job_reason_needed``, ``stations.job_number_needed``, ``stations.job_no_number``,
    ``stations.job_words_needed``; a step of a list without its open list: ``stations.not_opening``.
    """
    row: Job = locked(Job.objects.filter(pk=job.pk)).get()
    moment = at or now
    if not job_queries.may_do(row, by):
        refuse("stations.job_not_yours", status=403, job=row.name)
    if not row.in_use:
        refuse("stations.job_not_in_use", job=row.name)
    if moment > now:
        refuse("stations.in_the_future", at=moment)
    if row.occasion in (rules.OPENING, rules.CLOSING) and (opening is None or opening.processor_id != row.processor_id):
        refuse("stations.not_opening", job=row.name)
    facts = job_queries.facts_of(row)
    require(rules.writing_refusal(facts, value=value, note=note, left_out=left_out))
    done = JobDone.objects.create(
        job=row,
        opening=opening,
        at=moment,
        recorded_at=now,
        value=None if left_out else value,
        in_tolerance=left_out or rules.is_in_tolerance(facts, value),
        left_out=left_out,
        note=note.strip()[:300],
        done_by=by,
    )
    said: dict[str, Any] = {"job": row.code, "left_out": left_out, "in_tolerance": done.in_tolerance}
    record(code="stations.job_done", happened_at=moment, now=now, by=by, about=done, facts=said)
    return done


@act
def take_back_job(*, done: JobDone, now: datetime, by: Member) -> JobDone:
    """A line that was wrong: one of its own says that it does not count.  Only of the same day.

    Refused: ``stations.job_not_yours``, ``stations.job_taken_back``, ``stations.job_of_another_day``.
    """
    row: Job = locked(Job.objects.filter(pk=done.job_id)).get()
    if not job_queries.may_do(row, by):
        refuse("stations.job_not_yours", status=403, job=row.name)
    if done.undoes_id is not None or JobDone.objects.filter(undoes=done).exists():
        refuse("stations.job_taken_back", job=row.name)
    zone = queries.zone()
    if studio_day(done.recorded_at, zone) != studio_day(now, zone):
        refuse("stations.job_of_another_day", job=row.name)
    undone = JobDone.objects.create(
        job=row, opening=done.opening, at=done.at, recorded_at=now, undoes=done, done_by=by, in_tolerance=True
    )
    record(code="stations.job_taken_back", happened_at=now, now=now, by=by, about=undone, facts={"job": row.code})
    return undone
