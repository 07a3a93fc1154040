"""When a tank meets its first limit, and which it is.  Pure.

Area never decreases, so P(T ≤ t) = P(X(t) ≥ L), X(t) gamma with the course's moments: one upper incomplete gamma a
day, made monotone.  Age is a fixed moment; what is reached by the end of the day before comes before it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from studiodesk.chemistry.rules.standing import AGE

from .limits import Room, Tank
from .special import gamma_q, gamma_quantile
from .values import Course

P10, P50, P90 = 0.1, 0.5, 0.9
NO_ROOM = Room(0.0)
NOTHING = 5e-5  # a chance under this is not worth a line


@dataclass(frozen=True)
class Passage:
    """``reached[n]``: the chance that the first limit is reached by the end of the course's day n.

    ``first_limit``: limit → the chance that it comes first within the horizon; together the last of ``reached``.
    """

    first_day: date
    reached: Sequence[float]
    p10: date | None
    p50: date | None
    p90: date | None
    first_limit: Mapping[str, float]
    age_day: date | None


def chance_of(mean: float, variance: float, area: float) -> float:
    """P(X ≥ area) for a gamma with these moments; an area of nothing is always there."""
    if area <= 0:
        return 1.0
    if mean <= 0 or area == float("inf"):
        return 0.0
    if variance <= 0:
        return 1.0 if mean >= area else 0.0
    return gamma_q(mean * mean / variance, area * mean / variance)


def area_at(mean: float, variance: float, share: float) -> float:
    """The area that X stays under with chance ``share``, mm²."""
    if mean <= 0:
        return 0.0
    if variance <= 0:
        return mean
    return gamma_quantile(share, mean * mean / variance) * variance / mean


def passage(course: Course, tank: Tank, zone: ZoneInfo) -> Passage:
    """The dates are the first local days by whose end the chance is 1, 5 or 9 in 10; None beyond the horizon."""
    age_day = tank.age_ends_at.astimezone(zone).date() if tank.age_ends_at else None
    days = len(course.mean)
    if tank.passed is not None:
        first = course.first_day
        return Passage(first, [1.0] * days, first, first, first, {tank.passed: 1.0}, age_day)
    reached: list[float] = []
    limits: dict[str, float] = {}
    so_far = 0.0
    for number in range(days):
        if age_day is not None and course.day(number) >= age_day:
            limits[AGE] = limits.get(AGE, 0.0) + (1 - so_far)
            reached += [1.0] * (days - number)
            break
        name = limit_by(tank, course, number)
        if name:
            room = tank.rooms[name]
            now = max(so_far, chance_of(*towards(course, room, number), room.mm2)) if so_far < 1 else 1.0
            limits[name] = limits.get(name, 0.0) + (now - so_far)
            so_far = now
        reached.append(so_far)
    found = {name: chance for name, chance in sorted(limits.items(), key=lambda one: -one[1]) if chance > NOTHING}
    return Passage(
        course.first_day,
        reached,
        _first(course, reached, P10),
        _first(course, reached, P50),
        _first(course, reached, P90),
        found,
        age_day,
    )


def limit_by(tank: Tank, course: Course, number: int) -> str:
    """The limit that use reaches first by that day, idle days in it."""
    idle = course.idle_days[number] if course.idle_days else 0.0
    rooms = {name: room.mm2 - room.idle_mm2 * idle for name, room in tank.rooms.items()}
    return min(rooms, key=lambda one: rooms[one], default="")


def towards(course: Course, room: Room, number: int) -> tuple[float, float]:
    """Mean and variance of what is taken of a room by that day's end: the area, and idle days as so much area."""
    mean, variance = course.mean[number], course.variance[number]
    if room.idle_mm2 and course.idle_days:
        mean += room.idle_mm2 * course.idle_days[number]
        variance += room.idle_mm2**2 * (course.idle_variance[number] if course.idle_variance else 0.0)
    return mean, variance


def runs_out(
    course: Course, stock_pl: float, rate_ul_per_m2: int, idle_pl_per_day: float = 0.0
) -> tuple[date | None, date | None, date | None]:
    """P10, P50 and P90 of the day on which so much replenisher (pL) in the house is used up by one tank.

    What the area asks is area × rate; each day without a sheet takes its own amount first.
    """
    reached: list[float] = []
    for number, (mean, variance) in enumerate(zip(course.mean, course.variance, strict=True)):
        left = stock_pl - idle_pl_per_day * (course.idle_days[number] if course.idle_days else 0.0)
        area = left / rate_ul_per_m2 if rate_ul_per_m2 else (0.0 if left <= 0 else float("inf"))
        reached.append(max(chance_of(mean, variance, area), reached[-1] if reached else 0.0))
    return _first(course, reached, P10), _first(course, reached, P50), _first(course, reached, P90)


def _first(course: Course, reached: Sequence[float], chance: float) -> date | None:
    return next((course.day(n) for n, so_far in enumerate(reached) if so_far >= chance - 1e-12), None)


def bands(course: Course, shares: Sequence[float], room: Room | None = None) -> dict[float, list[float]]:
    """Share → the area (mm²) under which X stays with that chance, by the end of each day, never falling.

    With ``room`` idle days count as the area that they take of it.
    """
    out: dict[float, list[float]] = {}
    for share in shares:
        areas: list[float] = []
        for number in range(len(course.mean)):
            area = area_at(*towards(course, room or NO_ROOM, number), share)
            areas.append(max(area, areas[-1] if areas else 0.0))
        out[share] = areas
    return out
