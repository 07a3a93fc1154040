"""A Monte-Carlo of the posterior that the forecast states in two moments: every level of it drawn, with numpy.

What is taken from the model is only what it believes (rates, shapes, pick-up, levels); sums of them, the variance and
the passage are not.  Used by ``test_passage`` and by ``tests/bench``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from unittest.mock import patch

import numpy as np
from numpy.typing import NDArray

from studiodesk.planning.rules import course
from studiodesk.planning.rules.calendar import PickUp, lead_days
from studiodesk.planning.rules.values import Known, Stay

PATHS = 20_000
SHAPE_WORTH = 8.0  # how sure the shape of members and sessions is, as the shape of a gamma around its mean
LOOSE_CV2 = 0.5  # of one walk-in's area

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Posterior:
    """What the model believes of one processor, on its way into the moments."""

    of: Any  # course._Lasting
    coming: Sequence[Stay]
    curve: PickUp

    @property
    def first_day(self) -> Any:
        return self.of.known.today


def posteriors(known: Known) -> dict[int, Posterior]:
    """Processor → what ``courses`` believes of it."""
    caught: dict[int, Posterior] = {}
    reckon = course._course

    def look(of: Any, coming: Sequence[Stay], curve: PickUp, widened: float) -> Any:
        caught[of.machine.pk] = Posterior(of, coming, curve)
        return reckon(of, coming, curve, widened)

    with patch.object(course, "_course", look):
        course.courses(known)
    return caught


def days_of_area(
    believed: Posterior, days: int, rng: np.random.Generator, *, paths: int = PATHS, sheet_mm2: float | None = None
) -> Array:
    """(days + 1) × paths: the area of each day, mm², today the first.

    ``sheet_mm2``: the sessions ahead print whole sheets of that size, negative-binomial; without it gamma.
    """
    out = np.zeros((days + 1, paths))
    common, level = _levels(believed.of, paths, rng)
    _booked(believed, out, rng, common, sheet_mm2)
    _unmade(believed, out, rng, level)
    _loose(believed, out, rng)
    for one in believed.of.known.planned:
        number = (one.at.astimezone(believed.of.known.zone).date() - believed.first_day).days
        if one.processor == believed.of.machine.pk and 0 <= number <= days:
            out[number] += _gamma(one.mean_mm2, one.variance_mm4, paths, rng)
    return out


def _gamma(mean: Any, variance: Any, paths: int, rng: np.random.Generator) -> Array:
    mean, variance = np.broadcast_to(mean, (paths,)), np.broadcast_to(variance, (paths,))
    surely = np.where(variance > 0, variance, 1.0)
    drawn: Array = rng.gamma(mean**2 / surely, surely / np.where(mean > 0, mean, 1.0))
    return np.where((variance > 0) & (mean > 0), drawn, mean)


def _level(cv2: float, paths: int, rng: np.random.Generator) -> Array:
    return _gamma(1.0, cv2, paths, rng)


def _levels(of: Any, paths: int, rng: np.random.Generator) -> tuple[Array, Array]:
    """The process's level and that of what nobody has booked yet, 1 on average, wrong together.

    Both are gamma, with a part in common that gives them the covariance ``strange`` × the process's cv² (the bivariate
    gamma of Cheriyan, 1941; Kotz, Balakrishnan and Johnson, Continuous Multivariate Distributions 1, 2000, ch. 48; from
    memory).  Where the process has less than that part, it has all of it.
    """
    process, own = 1 / (of.usage.cv2 * of.shape), 1 / of.level_cv2
    both = min(of.usage.strange * own, process)
    together = rng.gamma(both, 1.0, paths)
    return tuple((together + rng.gamma(max(all_of - both, 1e-12), 1.0, paths)) / all_of for all_of in (process, own))


def _booked(believed: Posterior, out: Array, rng: np.random.Generator, common: Array, sheet_mm2: float | None) -> None:
    """Stays in the calendar: process, then member, then session; and whether each is kept."""
    of, paths = believed.of, out.shape[1]
    usage, known = of.usage, of.known
    shape = of.shape * _level(1 / SHAPE_WORTH, paths, rng)  # the same misjudgement for all of a path
    mu = usage.mu * common
    rates: dict[int, Array] = {}
    for stay in believed.coming:
        share = of.shares.get(stay.processor, 0.0) if stay.processor is not None else 1 / max(1, len(of.shares))
        number = (stay.ends.astimezone(known.zone).date() - known.today).days
        if not share or not 0 <= number < len(out):
            continue
        if stay.member not in rates:
            known_rate = usage.of(stay.member)
            mean = known_rate.mm2_per_h + (1 - known_rate.own) * (mu - usage.mu)
            spread = shape * usage.t2 * (1 - known_rate.own) * mu**2
            rates[stay.member] = _gamma(np.maximum(mean, 0.0), spread, paths, rng)
        rate = rates[stay.member]
        left = (stay.ends - max(stay.starts, known.at)).total_seconds() / 3600
        keep = believed.curve.keep(lead_days(known.at, stay.starts)) if stay.starts > known.at else 1.0
        kept = rng.random(paths) < share * keep
        variance = shape * usage.c2 * usage.mean_hours * mu * left * (rate + mu) / 2
        drawn = _gamma(rate * left, variance, paths, rng)
        if sheet_mm2 is not None:
            drawn = _sheets(rate * left / sheet_mm2, variance / sheet_mm2**2, drawn / sheet_mm2, rng) * sheet_mm2
        out[number] += kept * drawn


def _sheets(mean: Array, variance: Array, otherwise: Array, rng: np.random.Generator) -> Array:
    """Whole sheets with these moments where a negative binomial can have them."""
    can = (variance > mean * 1.0001) & (mean > 1e-9)
    over = np.where(can, variance - mean, 1.0)
    some = np.where(can, mean, 1.0)
    drawn = rng.negative_binomial(some**2 / over, some / (some + over))
    return np.where(can, drawn, otherwise)


def _compound(mean: Array, jump: float, cv2: float, rng: np.random.Generator) -> Array:
    """Poisson many jumps of mean size ``jump`` and relative variance ``cv2``, in all ``mean``."""
    many = rng.poisson(mean / jump)
    return rng.gamma(many / cv2, jump * cv2)


def _unmade(believed: Posterior, out: Array, rng: np.random.Generator, level: Array) -> None:
    """Stays that nobody has booked yet: they come in clumps, at a level that is not well known."""
    of = believed.of
    jump = of.scatter / (1 + of.usage.session_cv2)
    places = course._taken(of, believed.coming)
    for number in range(len(out)):
        hours = course._still_to_be_booked(of, number, believed.curve, places)
        if hours:
            out[number] += _compound(level * hours * of.usage.per_hour, jump, of.usage.session_cv2, rng)


def _loose(believed: Posterior, out: Array, rng: np.random.Generator) -> None:
    of, paths = believed.of, out.shape[1]
    if not of.loose_per_hour:
        return
    level = _level(of.loose_cv2, paths, rng)
    jump = of.loose_scatter / (1 + LOOSE_CV2)
    for number in range(len(out)):
        hours = of.known.hours_ahead(of.machine, of.known.today + timedelta(days=number))
        if hours:
            out[number] += _compound(level * hours * of.loose_per_hour, jump, LOOSE_CV2, rng)


def reached_by_day(area_by_day: Array, room: Any, *, idle: float = 0.0) -> Array:
    """The share of paths that have used up ``room`` (mm²) by each day's end; a day without sheets takes ``idle``."""
    gone = np.cumsum(area_by_day, axis=0)
    if idle:
        gone = gone + idle * np.cumsum(area_by_day == 0, axis=0)
    return (gone >= room).mean(axis=1)


def first_day(reached: Array, chance: float) -> int | None:
    """The first day by whose end so many have reached it."""
    days = np.nonzero(reached >= chance)[0]
    return int(days[0]) if len(days) else None
