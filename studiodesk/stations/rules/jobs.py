"""Jobs that recur: when one is due, what may be written down of it, what of a checklist is still open.  Pure.

Days are the studio's local ones.  A job of every so many days is due so many days after it was last done (or on its
first day), and overdue from the day after.  Who left one out with a reason has dealt with it until it comes again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from studiodesk.answers import Refusal

TICK, NUMBER, WORDS = "a tick", "a number", "a few words"
KEYHOLDER, STAFF, MANAGER = "keyholder", "staff", "manager"
DAYS, OPENING, CLOSING, BATH_CHANGE = "every so many days", "at opening", "at closing", "at a bath change"
MOST_DAYS = 3660
#: The column of a reading: nine digits, three of them after the point.
MOST = Decimal("999999.999")


@dataclass(frozen=True)
class JobFacts:
    """A job as the rules see it."""

    code: str
    name: str
    occasion: str
    asks: str = TICK
    who: str = KEYHOLDER
    every_days: int | None = None
    first_day: date | None = None
    unit: str = ""
    at_least: Decimal | None = None
    at_most: Decimal | None = None


@dataclass(frozen=True)
class Done:
    """The latest that holds of a job on an occasion."""

    value: Decimal | None = None
    in_tolerance: bool = True
    left_out: bool = False


def may_do(job: JobFacts, *, is_keyholder: bool, is_staff: bool, is_manager: bool) -> bool:
    """Managers do everything, staff what keyholders do."""
    ranks = {KEYHOLDER: is_keyholder or is_staff or is_manager, STAFF: is_staff or is_manager, MANAGER: is_manager}
    return ranks[job.who]


def due_on(job: JobFacts, last: date | None) -> date | None:
    """The day on which it is to be done next; None if it does not come by days.  ``last``: when it was done last."""
    if job.occasion != DAYS or job.every_days is None:
        return None
    if last is None:
        return job.first_day
    return max(last + timedelta(days=job.every_days), job.first_day or last)


def is_in_tolerance(job: JobFacts, value: Decimal | None) -> bool:
    """At its limit a reading has not passed it."""
    if value is None:
        return True
    return (job.at_least is None or value >= job.at_least) and (job.at_most is None or value <= job.at_most)


def writing_refusal(job: JobFacts, *, value: Decimal | None, note: str, left_out: bool) -> Refusal | None:
    """What is left out needs a reason; a number where one is asked for and nowhere else; words where they are."""
    if left_out:
        return None if note.strip() else Refusal("stations.job_reason_needed", {"job": job.name})
    if job.asks == NUMBER and value is None:
        return Refusal("stations.job_number_needed", {"job": job.name, "unit": job.unit})
    if job.asks != NUMBER and value is not None:
        return Refusal("stations.job_no_number", {"job": job.name})
    if value is not None and not -MOST <= value <= MOST:
        return Refusal("stations.job_number_needed", {"job": job.name, "unit": job.unit})
    if job.asks == WORDS and not note.strip():
        return Refusal("stations.job_words_needed", {"job": job.name})
    return None


def still_open(jobs: Sequence[JobFacts], done: Mapping[str, Done]) -> list[JobFacts]:
    """The steps that keep a checklist open: not done and not left out, or read out of tolerance and not read again."""
    return [job for job in jobs if (one := done.get(job.code)) is None or not (one.left_out or one.in_tolerance)]


def describing_refusal(job: JobFacts) -> Refusal | None:
    """May a job be kept like this?"""
    if not job.name.strip():
        return Refusal("stations.job_needs_name")
    if (job.occasion == DAYS) != (job.every_days is not None) or (job.occasion == DAYS and job.first_day is None):
        return Refusal("stations.job_days_needed")
    if job.every_days is not None and not 1 <= job.every_days <= MOST_DAYS:
        return Refusal("stations.job_days_needed")
    if job.at_least is not None and job.at_most is not None and job.at_most < job.at_least:
        return Refusal("stations.job_tolerance_empty")
    if job.asks != NUMBER and (job.at_least is not None or job.at_most is not None or job.unit):
        return Refusal("stations.job_no_tolerance")
    return None
