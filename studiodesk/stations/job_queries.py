"""Every read of the jobs that recur and of the working days of the processors."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from studiodesk.people.models import Member
from studiodesk.timekeeping import studio_day

from .models import Job, JobDone, Processor, ProcessorOpening
from .rules import jobs as rules


@dataclass(frozen=True)
class JobLine:
    """A job of every so many days: when it is due, what was done of it last, whether the reader may do it."""

    job: Job
    due: date | None
    last: JobDone | None
    today: date
    may_do: bool

    @property
    def is_due(self) -> bool:
        return self.due is not None and self.due <= self.today

    @property
    def is_overdue(self) -> bool:
        return self.due is not None and self.due < self.today


@dataclass(frozen=True)
class Step:
    """One step of a checklist and what was written of it; ``is_open``: it still keeps the list open."""

    job: Job
    done: JobDone | None
    is_open: bool
    may_do: bool


def facts_of(job: Job) -> rules.JobFacts:
    return rules.JobFacts(
        code=job.code,
        name=job.name,
        occasion=job.occasion,
        asks=job.asks,
        who=job.who,
        every_days=job.every_days,
        first_day=job.first_day,
        unit=job.unit,
        at_least=job.at_least,
        at_most=job.at_most,
    )


def may_do(job: Job, by: Member) -> bool:
    roles = {"is_keyholder": by.is_keyholder, "is_staff": by.is_staff, "is_manager": by.is_manager}
    return bool(by.is_active) and rules.may_do(facts_of(job), **roles)


def held() -> QuerySet[JobDone]:
    """What was done and not taken back."""
    return JobDone.objects.filter(undoes=None, undone_by=None).select_related("done_by", "job")


def access_job(code: str) -> Job:
    """``Job.DoesNotExist`` if there is none."""
    return Job.objects.select_related("processor").get(code=code)


def access_done(pk: int) -> JobDone:
    """``JobDone.DoesNotExist`` if there is none that holds."""
    return held().get(pk=pk)


def lines(by: Member, now: datetime, zone: ZoneInfo) -> list[JobLine]:
    """The jobs of every so many days that are in use, what is due first; two queries."""
    jobs = list(Job.objects.filter(occasion=Job.Occasion.DAYS, in_use=True).select_related("processor"))
    latest: dict[int, JobDone] = {}
    for one in held().filter(job__in=jobs).order_by("at", "pk"):
        latest[one.job_id] = one
    today = studio_day(now, zone)
    out = []
    for job in jobs:
        last = latest.get(job.pk)
        due = rules.due_on(facts_of(job), None if last is None else studio_day(last.at, zone))
        out.append(JobLine(job, due, last, today, may_do(job, by)))
    return sorted(out, key=lambda one: (one.due or today, one.job.name))


def overdue(now: datetime, zone: ZoneInfo) -> list[tuple[Job, date]]:
    """The jobs whose day has gone by, and that day."""
    nobody = Member(is_active=False)
    return [(one.job, one.due) for one in lines(nobody, now, zone) if one.is_overdue and one.due is not None]


def all_jobs() -> QuerySet[Job]:
    """Those in use first, by processor and occasion."""
    return Job.objects.select_related("processor").order_by("-in_use", "processor_id", "occasion", "position", "pk")


def opening_of(processor: Processor) -> ProcessorOpening | None:
    """The working day that is not closed yet; there is at most one."""
    return ProcessorOpening.objects.filter(processor=processor, closed_at=None).first()


def steps(
    processor: Processor,
    occasion: str,
    opening: ProcessorOpening | None,
    by: Member,
    *,
    since: datetime | None = None,
) -> list[Step]:
    """The checklist of an occasion, with what was written of each step in this opening, or ``since`` a moment."""
    jobs = list(Job.objects.filter(processor=processor, occasion=occasion, in_use=True).order_by("position", "pk"))
    latest: dict[int, JobDone] = {}
    if opening is not None:
        for one in held().filter(opening=opening, job__in=jobs).order_by("at", "pk"):
            latest[one.job_id] = one
    elif since is not None:
        for one in held().filter(at__gte=since, job__in=jobs).order_by("at", "pk"):
            latest[one.job_id] = one
    still = {one.code for one in rules.still_open([facts_of(job) for job in jobs], done_facts(latest))}
    return [Step(job, latest.get(job.pk), job.code in still, may_do(job, by)) for job in jobs]


def has_change_list(processor: Processor) -> bool:
    return Job.objects.filter(processor=processor, occasion=Job.Occasion.BATH_CHANGE, in_use=True).exists()


def done_facts(latest: dict[int, JobDone]) -> dict[str, rules.Done]:
    return {one.job.code: rules.Done(one.value, one.in_tolerance, one.left_out) for one in latest.values()}


def not_opened(processors: list[int], now: datetime, zone: ZoneInfo) -> set[int]:
    """Of those that have an opening list: the ones that nobody has made ready today and not closed since; two queries.

    A processor whose opening is written down nowhere is never among them: nothing is known of it.
    """
    kept = set(
        Job.objects.filter(processor__in=processors, occasion=Job.Occasion.OPENING, in_use=True).values_list(
            "processor", flat=True
        )
    )
    if not kept:
        return set()
    ready = ProcessorOpening.objects.filter(Q(processor__in=kept), ready_at__lte=now, closed_at=None)
    today = studio_day(now, zone)
    return kept - {one.processor_id for one in ready if studio_day(one.begun_at, zone) == today}
