"""Holding the forecast against simulated studios: what was foretold, what came, and how often it lay inside.

A replicate is one processor of one studio at one moment; replicates that stand in the same count come from studios
of their own.  ``tests/planning/scenarios.py`` names the studios and prints the full table.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from datetime import time as clock

import numpy as np
from scipy.stats import gamma

from studiodesk.planning.rules.course import courses
from studiodesk.planning.rules.usage import TUNING, Tuning
from studiodesk.planning.rules.values import HORIZON_DAYS, Known, Loose, Machine, Stay

from .simulator import Studio

HORIZONS = (7, 14, 28)
BANDS = (0.5, 0.8, 0.95)
WITHIN = 0.03
SHIFTING_HOLDS = 0.70


def known(studio: Studio, at: datetime) -> Known:
    """What a studio knew at ``at``, as the model takes it: nothing made, cancelled or fed later."""
    processes = {code: n for n, code in enumerate(sorted({m.process for m in studio.machines}), start=1)}
    machines = {m.code: n for n, m in enumerate(studio.machines, start=1)}
    members = {code: n for n, code in enumerate(studio.members, start=1)}
    stays = []
    for one in studio.bookings:
        if one.made_at > at:
            continue
        fed: dict[int, int] = {}
        for line in one.fed:
            if line.at <= at:
                pk = machines[line.processor]
                fed[pk] = fed.get(pk, 0) + line.area_mm2
        cancelled = one.cancelled_at if one.cancelled_at and one.cancelled_at <= at else None
        stays.append(
            Stay(
                members[one.member],
                processes[one.process],
                machines[one.processor],
                one.starts,
                one.ends,
                one.made_at,
                cancelled,
                fed,
            )
        )
    loose = [Loose(machines[line.processor], line.at, line.area_mm2) for line in studio.walk_ins if line.at <= at]
    since = studio.at(studio.first, clock(0))
    hours, gone = _open_hours(studio, at)
    return Known(
        at=at,
        zone=studio.zone,
        open_hours=hours,
        today_gone=gone,
        machines=[Machine(machines[m.code], processes[m.process], m.places, since) for m in studio.machines],
        stays=stays,
        loose=loose,
    )


def _open_hours(studio: Studio, at: datetime) -> tuple[dict[date, float], float]:
    """Local day → open hours (today what is still to come), and what is gone of today.

    Past the end of the simulation the house keeps the hours of the same weekday: nobody looks that far here.
    """
    today = at.astimezone(studio.zone).date()
    hours = {
        day: sum((ends - starts).total_seconds() for starts, ends in spans) / 3600
        for day, spans in studio.opening.items()
    }
    last = max(hours)
    for number in range((today - last).days + HORIZON_DAYS + 1):
        day = last + timedelta(days=number + 1)
        hours[day] = hours.get(day - timedelta(days=7), 0.0)
    gone = sum(
        max(0.0, (min(ends, at) - starts).total_seconds()) / 3600 for starts, ends in studio.opening.get(today, ())
    )
    hours[today] = hours.get(today, 0.0) - gone
    return hours, gone


def came(studio: Studio, processor: str, at: datetime, days: Iterable[int] = HORIZONS) -> list[int]:
    """mm² that really went through after ``at`` until the end of the so-manieth local day, today the first."""
    today = at.astimezone(studio.zone).date()
    ends = [studio.at(today + timedelta(days=number), clock(0)) for number in days]
    sums = [0] * len(ends)
    lines = [*studio.walk_ins, *(line for one in studio.bookings if one.ends > at for line in one.fed)]
    for line in lines:
        if line.processor == processor and line.at > at:
            for n, end in enumerate(ends):
                if line.at < end:
                    sums[n] += line.area_mm2
    return sums


@dataclass(frozen=True)
class Told:
    """One replicate: moments foretold and what came, a figure for each horizon."""

    mean: Sequence[float]
    variance: Sequence[float]
    came: Sequence[int]
    sessions: int


def told(
    studio: Studio, at: datetime, *, tuning: Tuning = TUNING, widened: float = 1.0, days: Sequence[int] = HORIZONS
) -> Told:
    """What was foretold at ``at`` of the studio's first processor, and what came."""
    course = courses(known(studio, at), tuning=tuning, widened={1: widened})[1]
    return Told(
        [course.mean[day - 1] for day in days],
        [course.variance[day - 1] for day in days],
        came(studio, studio.machines[0].code, at, days),
        course.sessions,
    )


def shares(found: Sequence[Told]) -> np.ndarray:
    """P(area ≤ what came) by the Gamma with the foretold moments (scipy), replicates × horizons."""
    mean = np.array([one.mean for one in found])
    variance = np.array([one.variance for one in found])
    real = np.array([one.came for one in found])
    return gamma.cdf(real, mean**2 / variance, scale=variance / mean)


@dataclass(frozen=True)
class Coverage:
    """Share of replicates inside the central band, for each horizon and band; the rest helps to find what is wrong."""

    inside: dict[tuple[int, float], float]
    replicates: int
    below: dict[int, float]
    above: dict[int, float]
    bias: dict[int, float]
    z_variance: dict[int, float]

    def error(self, band: float) -> float:
        """The standard error that so many replicates leave in a coverage."""
        return math.sqrt(band * (1 - band) / self.replicates)


def coverage(found: Sequence[Told], days: Sequence[int] = HORIZONS) -> Coverage:
    at = shares(found)
    mean = np.array([one.mean for one in found])
    real = np.array([one.came for one in found])
    variance = np.array([one.variance for one in found])
    inside = {
        (day, band): float(np.mean(np.abs(at[:, n] - 0.5) <= band / 2)) for n, day in enumerate(days) for band in BANDS
    }
    return Coverage(
        inside,
        len(found),
        {day: float(np.mean(at[:, n] < 0.1)) for n, day in enumerate(days)},
        {day: float(np.mean(at[:, n] > 0.9)) for n, day in enumerate(days)},
        {day: float(mean[:, n].sum() / real[:, n].sum() - 1) for n, day in enumerate(days)},
        {day: float(np.mean((real[:, n] - mean[:, n]) ** 2 / variance[:, n])) for n, day in enumerate(days)},
    )


def misses(covered: Coverage, errors: float = 2.0) -> list[str]:
    """What is wrong with the calibration of steady studios: empty if every band holds within 3 points.

    The error of the count is allowed for: a coverage is missed if it lies further off than 3 points and so many of its
    standard errors.  The fewer the replicates, the less this sees; the full table allows for one.
    """
    return [
        f"{day} days, {band:.0%}: {share:.1%}"
        for (day, band), share in covered.inside.items()
        if abs(share - band) > WITHIN + errors * covered.error(band)
    ]


def shortfalls(covered: Coverage) -> list[str]:
    """What is wrong where the world shifts or is very uneven: empty if the 80 % band holds at least 70 % everywhere."""
    return [
        f"{day} days, {band:.0%}: {share:.1%}"
        for (day, band), share in covered.inside.items()
        if band == 0.8 and share < SHIFTING_HOLDS
    ]


HEAD = (
    f"{'studios':<30} {'n':>5} {'day':>3}  {'50 %':>6}  {'80 %':>6}  {'95 %':>6}"
    f"   {'<10 %':>5} {'>90 %':>5}  {'bias':>6}  {'z²':>5}"
)


def said(name: str, covered: Coverage) -> list[str]:
    """Lines of a table: the bands; how often what came lay in the lowest and highest tenth (10 % each would be right);
    the mean of what was foretold over the mean of what came, less 1; and the mean squared miss in variances."""
    lines = []
    for day in sorted({day for day, _ in covered.inside}):
        bands = "  ".join(f"{covered.inside[day, band]:6.1%}" for band in BANDS)
        tails = f"{covered.below[day]:5.1%} {covered.above[day]:5.1%}"
        rest = f"{covered.bias[day]:+6.1%}  {covered.z_variance[day]:5.2f}"
        lines.append(f"{name:<30} {covered.replicates:>5} {day:>3}  {bands}   {tails}  {rest}")
    return lines
