"""Too little use, simulated: what four weeks bring rises and falls, so no formula answers.  Pure, seeded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from random import Random

from .values import Course

PATHS = 4_000
WINDOW_DAYS = 28


@dataclass(frozen=True)
class LowUse:
    """The chance that some four weeks ending within the next four bring less than is needed, and by when it is even."""

    probability: float
    by: date | None


def low_use(course: Course, behind: Sequence[float], needed: float, *, seed: int, paths: int = PATHS) -> LowUse:
    """``behind``: area of each of the last 28 days, the latest last (fewer: the tank is younger, and too young days
    are not looked at); ``needed``: area (mm²) that 28 days have to bring.

    Each path has a level of its own, gamma with what the course's variance at four weeks holds beyond the scatter of
    single days, and daily areas that are gamma around it.
    """
    days = min(WINDOW_DAYS, len(course.mean) - 1)
    steps = course.by_day[: days + 1]
    mean, variance = course.mean[days], course.variance[days]
    scatter = course.scatter_mm2
    level = max(0.0, variance - scatter * mean) / mean**2 if mean else 0.0
    random = Random(seed)  # noqa: S311 - a simulation, not a secret
    first = [0] * (days + 1)
    for _ in range(paths):
        factor = random.gammavariate(1 / level, level) if level > 1e-9 else 1.0
        window = list(behind[-WINDOW_DAYS:])
        for number, step in enumerate(steps):
            shape = step * factor / scatter if scatter else 0.0
            window.append(random.gammavariate(shape, scatter) if shape > 1e-6 else step * factor)
            if len(window) >= WINDOW_DAYS and sum(window[-WINDOW_DAYS:]) < needed:
                first[number] += 1
                break
    so_far, by = 0, None
    for number, count in enumerate(first):
        so_far += count
        if by is None and so_far * 2 >= paths:
            by = course.day(number)
    return LowUse(so_far / paths, by)
