"""How long the forecast takes beside a Monte-Carlo of the same posterior, and its special functions beside scipy."""

from __future__ import annotations

import statistics
from datetime import datetime, timedelta
from typing import Any

import numpy as np

from .table import say, spread, timed, within

BAR_MS, DIFFERENCE_BAR = 50.0, 0.04
#: Of a special function between the shapes that count.
BAR_US, COUNTED = 10.0, (1, 50)
#: Six in the morning of a Monday in the middle of the quarter, with a fortnight of bookings ahead.
THEN = datetime.fromisoformat("2026-10-05T06:00:00+02:00")
SEED = 20261005


def forecast(rounds: int) -> None:
    from studiodesk.chemistry import queries as chemistry
    from studiodesk.chemistry.queries import reckoning
    from studiodesk.planning.queries.forecasting import foretell
    from studiodesk.planning.queries.known import known
    from studiodesk.planning.rules.course import courses
    from studiodesk.planning.rules.limits import tank
    from studiodesk.planning.rules.passage import passage
    from studiodesk.planning.rules.values import HORIZON_DAYS
    from studiodesk.stations import queries as stations
    from tests.planning.montecarlo import PATHS, days_of_area, posteriors, reached_by_day

    zone = stations.zone()
    facts = known(THEN, live=False, zone=zone)
    baths = list(chemistry.baths())
    lines = chemistry.standings(THEN, THEN, recount=True, of=baths, zone=zone, trust_files=True)
    settings = reckoning.histories([bath.pk for bath in baths], THEN)
    processor = {bath.pk: bath.processor_id for bath in baths}
    stood = [(processor[one.of.pk or 0], one, settings[one.of.pk or 0].at(THEN)) for one in lines]

    def reckoned() -> list[tuple[int, Any, Any]]:
        course_of = courses(facts)
        held = [(pk, tank(one, setting)) for pk, one, setting in stood]
        return [(pk, one, passage(course_of[pk], one, zone)) for pk, one in held]

    believed = posteriors(facts)

    def drawn() -> dict[int, Any]:
        rng = np.random.default_rng(SEED)
        return {pk: days_of_area(one, HORIZON_DAYS, rng) for pk, one in believed.items()}

    rooms = [(pk, one.rooms[one.nearest]) for pk, one, _ in reckoned() if one.rooms and one.passed is None]

    def drawn_and_passed() -> list[Any]:
        areas = drawn()
        return [reached_by_day(areas[pk], room.mm2, idle=room.idle_mm2) for pk, room in rooms]

    live_at = _after_all()
    many = f"{len(lines)} baths, {len(believed)} processors, {len(facts.stays)} bookings known"
    monte_carlo = timed(drawn_and_passed, max(3, rounds // 3))
    against = statistics.median(monte_carlo)
    say(f"forecast: {many}", f"{HORIZON_DAYS} days ahead")
    say(f"forecast: Monte-Carlo of {PATHS:,} paths, numpy", spread(monte_carlo))
    for what, work in (
        ("forecast: all baths, facts read already (pure reckoning)", reckoned),
        ("forecast: all baths with the reads, as the timer does it now", lambda: foretell(live_at, live=True)),
        ("forecast: all baths with the reads, as of a past moment", lambda: foretell(THEN, live=False)),
    ):
        times = timed(work, rounds)
        within(what, times, BAR_MS, _beside(statistics.median(times), against))
    _agreement(reckoned(), drawn(), zone, reached_by_day)


def _beside(mine: float, against: float) -> str:
    return f"1/{against / mine:.0f}" if against > mine else f"{mine / against:.1f} ×"


def _after_all() -> datetime:
    """A moment after everything that is recorded, as the timer has it."""
    from django.db.models import Max

    from studiodesk.chemistry.models import BathEntry, Feed

    lasts = [Feed.objects.aggregate(last=Max("fed_at"))["last"], BathEntry.objects.aggregate(last=Max("at"))["last"]]
    return max(moment for moment in lasts if moment) + timedelta(hours=1)


def _agreement(found: list[tuple[int, Any, Any]], areas: dict[int, Any], zone: Any, reached_by_day: Any) -> None:
    """How far the two say the same: the largest difference of the chances, age apart."""
    worst = 0.0
    for pk, held, passed in found:
        if held.rooms and held.passed is None:
            room = held.rooms[held.nearest]
            drawn = reached_by_day(areas[pk], room.mm2, idle=room.idle_mm2)
            end = len(drawn) if passed.age_day is None else max(0, (passed.age_day - passed.first_day).days)
            said = np.array(passed.reached[:end])
            worst = max(worst, float(np.abs(said - drawn[:end]).max(initial=0.0)))
    what = "forecast: largest difference of the two distributions"
    say(what, f"{worst:.3f}", "", f"≤ {DIFFERENCE_BAR}", worst <= DIFFERENCE_BAR)


def special(rounds: int) -> None:
    from scipy.special import gammaincc, gammaincinv

    from studiodesk.planning.rules.special import gamma_p, gamma_q, gamma_quantile

    rng = np.random.default_rng(SEED)
    for low, high in ((1e-2, 1), (1, 50), (50, 1e6)):
        shapes = np.exp(rng.uniform(np.log(low), np.log(high), 2000)).tolist()
        points = [a + float(z) * a**0.5 for a, z in zip(shapes, rng.normal(size=2000), strict=True)]
        pairs = [(a, x) for a, x in zip(shapes, points, strict=True) if x > 0]
        chances = rng.uniform(0.01, 0.99, len(pairs)).tolist()
        both = list(zip(pairs, chances, strict=True))
        for name, ours, theirs in (
            ("gamma_p", lambda pairs=pairs: [gamma_p(a, x) for a, x in pairs], None),
            (
                "gamma_q",
                lambda pairs=pairs: [gamma_q(a, x) for a, x in pairs],
                lambda pairs=pairs: [gammaincc(a, x) for a, x in pairs],
            ),
            (
                "gamma_quantile",
                lambda both=both: [gamma_quantile(p, a) for (a, _), p in both],
                lambda both=both: [gammaincinv(a, p) for (a, _), p in both],
            ),
        ):
            mine = statistics.median(timed(ours, rounds)) * 1000 / len(pairs)
            other = statistics.median(timed(theirs, rounds)) * 1000 / len(pairs) if theirs else None
            bar = f"≤ {BAR_US:.0f} µs" if (low, high) == COUNTED else ""
            what = f"{name}, a from {low:g} to {high:g}, a call"
            ratio = f"{mine / other:.1f} × scipy" if other else ""
            say(what, f"{mine:.1f} µs", ratio, bar, mine <= BAR_US if bar else None)
