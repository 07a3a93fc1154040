"""The jobs that recur at Ostermill, invented: of the house, and of opening and closing the RC processor."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from studiodesk.chemistry import actions as chemistry
from studiodesk.stations import actions as stations
from studiodesk.stations.models import Job, Processor
from studiodesk.stations.rules import jobs as rules
from studiodesk.timekeeping import Span

from .people import Cast

#: A job of the house, and how many days ago it was done: the last is due today.
OF_THE_HOUSE: tuple[tuple[str, str, int, str, int], ...] = (
    ("eyewash", "Run the eyewash for a minute", 7, rules.KEYHOLDER, 3),
    ("spill-kit", "Look through the spill kit", 30, rules.KEYHOLDER, 12),
    ("safelight", "Safelight test with fogged paper", 180, rules.STAFF, 100),
    ("pumps", "Measure the pumps' strokes", 90, rules.STAFF, 41),
    ("filters", "Change the water filters", 60, rules.STAFF, 60),
)
MACHINE = "P-RC"
GLOVES = "Gloves and eye protection. The safety data sheet comes before this list."


def keep_the_list(cast: Cast, openings: Sequence[Span], *, now: datetime, since: datetime) -> None:
    """Kept since ``since``; in one of today's ``openings`` the processor was opened with the house, step by step."""
    for code, name, every, who, ago in OF_THE_HOUSE:
        job, _new = stations.keep_job(
            code=code, name=name, occasion=rules.DAYS, every_days=every, who=who, now=since, by=cast.staff
        )
        chemistry.do_job(job=job, now=now - timedelta(days=ago), by=cast.staff)
    machine = Processor.objects.filter(code=MACHINE).first()
    if machine is None:
        return
    opening = _of_machine(machine, since, cast)
    around = next((one for one in openings if one.holds(now)), None)
    if around is not None:
        _opened(machine, opening, around, cast, now)


def _of_machine(machine: Processor, since: datetime, cast: Cast) -> list[Job]:
    """Its lists; gives the steps of the opening."""

    def kept(occasion: str, position: int, code: str, name: str, **more: Any) -> Job:
        job, _new = stations.keep_job(
            code=f"rc-{code}",
            name=name,
            occasion=occasion,
            processor=machine,
            position=position,
            now=since,
            by=cast.staff,
            **more,
        )
        return job

    temperature = {"asks": rules.NUMBER, "unit": "°C", "at_least": Decimal("29.5"), "at_most": Decimal("30.5")}
    opening = [
        kept(rules.OPENING, 0, "water", "Evaporated water topped up first", caution=GLOVES),
        kept(rules.OPENING, 1, "levels", "Levels of all tanks looked at"),
        kept(rules.OPENING, 2, "temperature", "Developer temperature", **temperature),
        kept(rules.OPENING, 3, "cleaning-sheets", "Two cleaning sheets through"),
    ]
    kept(rules.CLOSING, 0, "rinse", "Crossovers rinsed", caution=GLOVES)
    kept(rules.CLOSING, 1, "lids", "Floating lids on, drains shut")
    return opening


def _opened(machine: Processor, steps: list[Job], around: Span, cast: Cast, now: datetime) -> None:
    """Begun with the house, a few minutes a step; what has not come yet is left for whoever looks at the demo."""
    at = around.starts
    opening = stations.begin_opening(processor=machine, now=at, by=cast.keyholder)
    for job in steps:
        at += timedelta(minutes=4)
        if at > now:
            return
        value = Decimal("30.1") if job.asks == rules.NUMBER else None
        chemistry.do_job(job=job, now=at, by=cast.keyholder, value=value, opening=opening)
    chemistry.make_ready(opening=opening, now=at, by=cast.keyholder)
