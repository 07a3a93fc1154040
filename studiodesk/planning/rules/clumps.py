"""How unevenly things come: the sessions of a week, the days of sheets that belong to nobody's stay.  Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date

from .usage import Tuning, weight
from .values import Known, Machine, Stay

#: How much less evenly sessions come than by pure chance, before it is known, worth so many weeks.
CLUMPED, CLUMPED_WORTH, LEAST_CLUMPED, MOST_CLUMPED = 1.2, 8.0, 0.8, 4.0
#: A level learnt from nothing is no more uncertain than itself.
MOST_LEVEL_CV2 = 1.0


def weeks_clumped(sessions: Sequence[Stay], known: Known, machine: Machine) -> float:
    """Variance over mean of the sessions in a week, shrunk towards a guess."""
    if machine.since is None:
        return CLUMPED
    weeks = int((known.at - machine.since).total_seconds() // (7 * 86_400))
    counts = [0] * weeks
    for stay in sessions:
        back = int((known.at - stay.ends).total_seconds() // (7 * 86_400))
        if back < weeks:
            counts[back] += 1
    if weeks < 2 or not sum(counts):
        return CLUMPED
    mean = sum(counts) / weeks
    found = sum((count - mean) ** 2 for count in counts) / mean
    return _shrunk(found, weeks)


def _shrunk(found: float, weeks: int) -> float:
    """Variance over mean from so many weeks' squares ``found``, drawn to the guess and kept within reason."""
    return min(MOST_CLUMPED, max(LEAST_CLUMPED, (CLUMPED_WORTH * CLUMPED + found) / (CLUMPED_WORTH + weeks - 1)))


def loose_days(known: Known, machine: Machine) -> dict[date, float]:
    """Local day → area of sheets of nobody's stay, of the days that had any."""
    days: dict[date, float] = defaultdict(float)
    for through in known.loose:
        if through.processor == machine.pk and through.at <= known.at and through.area_mm2:
            days[through.at.astimezone(known.zone).date()] += through.area_mm2
    return dict(days)


def loose_sheets(
    known: Known, machine: Machine, days: Mapping[date, float], tuning: Tuning
) -> tuple[float, float, float]:
    """Sheets of nobody's stay: mm² in an open hour, what one day of them adds to the variance, cv² of their level."""
    if not days or machine.since is None:
        return 0.0, 0.0, 0.0
    since = machine.since.astimezone(known.zone).date()
    counted = [
        (weight((known.today - day).days * 86_400, tuning), known.hours_behind(machine, day), days.get(day, 0.0))
        for day in known.open_hours
        if since <= day <= known.today
    ]
    open_for = sum(counts * hours for counts, hours, _ in counted)
    area = sum(counts * area for counts, _, area in counted)
    if not area or not open_for:
        return 0.0, 0.0, 0.0
    # What every day brings alike is no scatter: squares are of what a day lies off its open hours' share.
    usual = area / open_for
    off = [(counts, (came - usual * hours) ** 2) for counts, hours, came in counted]
    squares = sum(counts * square for counts, square in off)
    again = sum(counts**2 * square for counts, square in off)
    # The first few days seem more even than they are: one of them goes into their own mean.
    few = 1 + 1 / max(1, sum(1 for _, hours, _ in counted if hours) - 1)
    clumped = few * _days_clumped([(hours, came) for _, hours, came in counted])
    return usual, clumped * squares / area, min(MOST_LEVEL_CV2, clumped * again / area**2)


def _days_clumped(days: Sequence[tuple[float, float]]) -> float:
    """How much further weeks lie apart than unlike days (open hours, area; the newest last) would put them."""
    weeks = len(days) // 7
    days = days[len(days) - 7 * weeks :]
    hours = sum(open_for for open_for, _ in days)
    if weeks < 2 or not hours:
        return CLUMPED
    usual = sum(came for _, came in days) / hours
    off = [came - usual * open_for for open_for, came in days]
    by_chance = sum(one**2 for one in off) / weeks
    if not by_chance:
        return CLUMPED
    found = sum(sum(off[7 * n : 7 * n + 7]) ** 2 for n in range(weeks)) / by_chance
    return _shrunk(found, weeks)
