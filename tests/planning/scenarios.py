"""The studios that the forecast is held against, and the full table: ``python -m tests.planning.scenarios``.

Steady: nothing changes but by chance.  Projects: few members who differ much and book far ahead in bursts, so that a
few of them fill the weeks to come.  New: the calendar opened with the house, a few days ago, and shows no early booking
yet.  Walk-ins: nobody books.  Rise: twice as much is printed an hour since some weeks.  Seasons and steps are
walked through week by week, each forecast widened by how earlier ones fared, as the nightly scoring does it.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from random import Random

from studiodesk.planning.rules.score import squared_miss, widening
from studiodesk.planning.rules.usage import TUNING, Tuning

from .calibrating import HEAD, HORIZONS, Coverage, Told, coverage, misses, said, shares, shortfalls, told
from .simulator import Bursts, Recipe, Season, Step, Studio, simulate, usual

REMEMBERED_WEEKS = 17
"""For so long a forecast tells how wide the next has to be (120 days)."""


@dataclass(frozen=True)
class Scenario:
    """``recipe`` draws a studio; the forecast is made at 06:00 of the day that lies ``weeks_before`` weeks on."""

    name: str
    recipe: Callable[[Random], Recipe]
    wrong: Callable[[Coverage], list[str]] = misses
    first_walk: int = 0
    """The week of the first forecast where a studio is walked through; 0: one forecast, at the end."""


def steady(sessions: int, per_week: tuple[float, float] = (4.0, 14.0), **options: float) -> Scenario:
    """About so many past sessions at the processor, and one process besides."""

    def recipe(random: Random) -> Recipe:
        return usual(random, sessions=sessions, per_week=per_week, others=1, **options)

    return Scenario(f"{sessions} sessions", recipe)


#: With a hundred sessions the pace is quicker, for else the studio would be half a year old on average.
STEADY = (steady(5), steady(20), steady(100, (8.0, 20.0)))


def _projects(random: Random) -> Recipe:
    recipe = usual(random, sessions=100, per_week=(8.0, 16.0), others=1)
    return recipe.but(
        members=random.randint(8, 14),
        uneven="two classes",
        heavy_share=0.3,
        heavy_times=random.uniform(4.0, 8.0),
        keenness=2.0,
        bursts=Bursts(),
        leads=((0.1, 2.0, 1.0), (0.9, 35.0, 6.0)),
    )


def _rise(random: Random) -> Recipe:
    recipe = usual(random, sessions=100, per_week=(5.0, 10.0), others=1)
    return recipe.but(weeks_before=22, steps=(Step(22 * 7 - random.uniform(45, 60), of_rate=2.0),))


def _new(random: Random) -> Recipe:
    return usual(random, sessions=6, per_week=(4.0, 14.0), others=1).but(from_scratch=True)


def _walk_ins(random: Random) -> Recipe:
    recipe = usual(random, sessions=20, per_week=(4.0, 14.0), others=0)
    trade = replace(recipe.trades[0], bookings_per_week=0.0, walk_ins_per_open_hour=random.uniform(0.1, 0.4))
    return recipe.but(trades=(trade,))


NEW = Scenario("new house", _new, shortfalls)
WALK_INS = Scenario("walk-ins only", _walk_ins)
PROJECTS = Scenario("projects", _projects, shortfalls)
RISE = Scenario("rise", _rise, shortfalls)

WALKED_FROM, STEP_WEEK, WALKED_TO = 12, 18, 36


def _walked(random: Random) -> Recipe:
    return usual(random, sessions=100, per_week=(4.0, 12.0), others=0).but(weeks_before=WALKED_TO)


def _seasons(random: Random) -> Recipe:
    season = Season(of_demand=random.uniform(0.2, 0.5), of_rate=random.uniform(0.1, 0.3), first=random.uniform(0, 365))
    return _walked(random).but(season=season)


def _step(**of: float) -> Callable[[Random], Recipe]:
    return lambda random: _walked(random).but(steps=(Step(STEP_WEEK * 7, **of),))


SEASONS = Scenario("seasons", _seasons, shortfalls, WALKED_FROM)
STEPS = (
    Scenario("half more printed an hour", _step(of_rate=1.5), shortfalls, WALKED_FROM),
    Scenario("half more booked", _step(of_demand=1.5), shortfalls, WALKED_FROM),
)


def replicate(scenario: Scenario, seed: int) -> tuple[Studio, datetime]:
    """The studio of this seed and the moment of its forecast (of its last, where it is walked through)."""
    recipe = scenario.recipe(Random(f"{scenario.name} {seed}"))
    studio = simulate(recipe, seed)
    return studio, studio.at(studio.first + timedelta(days=round(recipe.weeks_before * 7)))


def run(scenario: Scenario, seeds: Iterable[int], *tunings: Tuning) -> list[list[Told]]:
    """For each tuning one forecast of each studio."""
    found: list[list[Told]] = [[] for _ in tunings or (TUNING,)]
    for seed in seeds:
        studio, at = replicate(scenario, seed)
        for into, tuning in zip(found, tunings or (TUNING,), strict=True):
            into.append(told(studio, at, tuning=tuning))
    return found


@dataclass(frozen=True)
class Walked:
    week: int
    told: Told
    widened: float


def walk(scenario: Scenario, seed: int, tuning: Tuning = TUNING, *, widen: bool = True) -> list[Walked]:
    """A forecast a week; each is widened by those whose spans are over by then, as ``rules.score`` does it."""
    studio, last = replicate(scenario, seed)
    weeks = (last.astimezone(studio.zone).date() - studio.first).days // 7
    found: list[Walked] = []
    at_shares: list[Sequence[float]] = []
    for week in range(scenario.first_walk, weeks + 1):
        missed = []
        for earlier, share in list(zip(found, at_shares, strict=True))[-REMEMBERED_WEEKS:]:
            over = {str(d): s for d, s in zip(HORIZONS, share, strict=True) if earlier.week * 7 + d <= week * 7}
            miss = squared_miss(over, earlier.widened)
            if miss is not None:
                missed.append(miss)
        widened = widening(missed) if widen else 1.0
        at = studio.at(studio.first + timedelta(weeks=week))
        found.append(Walked(week, told(studio, at, tuning=tuning, widened=widened), widened))
        at_shares.append([float(share) for share in shares([found[-1].told])[0]])
    return found


def walks(scenario: Scenario, seeds: Iterable[int], tuning: Tuning = TUNING, *, widen: bool = True) -> list[Walked]:
    return [one for seed in seeds for one in walk(scenario, seed, tuning, widen=widen)]


NO_MEMBERS, NO_HALF_LIFE = Tuning(member_level=False), Tuning(half_life_days=1e9)


def _steady_tables(seeds: range) -> None:
    heavy, light = (
        Scenario(f"5 sessions, {sheets} sheets/h", steady(5, sheets_per_hour=sheets).recipe) for sheets in (4.5, 1.6)
    )
    for scenario in (*STEADY, heavy, light, NEW, WALK_INS):
        began = time.perf_counter()
        covered = coverage(run(scenario, seeds)[0])
        print("\n".join(said(scenario.name, covered)))
        each = 1000 * (time.perf_counter() - began) / len(seeds)
        print(
            f"  {each:.1f} ms each; beyond 3 points and a standard error: {misses(covered, 1.0) or 'nothing'}",
            flush=True,
        )


def _mutant_tables(seeds: range) -> None:
    tunings = {"": TUNING, ", no member level": NO_MEMBERS, ", no half-life": NO_HALF_LIFE}
    for scenario in (PROJECTS, RISE):
        for name, found in zip(tunings, run(scenario, seeds, *tunings.values()), strict=True):
            covered = coverage(found)
            print("\n".join(said(scenario.name + name, covered)))
            print(f"  80 % band under 70 %: {scenario.wrong(covered) or 'nowhere'}", flush=True)


def _walked_tables(seeds: range) -> None:
    for scenario in (SEASONS, *STEPS):
        for widen in (False, True):
            found = walks(scenario, seeds, widen=widen)
            name = f"{scenario.name}{', widened' if widen else ''}"
            print("\n".join(said(name, coverage([one.told for one in found]))), flush=True)
            if scenario is SEASONS:
                continue
            for label, first, last in (("before", 0, 0), ("0 to 3", 0, 3), ("4 to 9", 4, 9), ("10 to 18", 10, 18)):
                some = [
                    one.told
                    for one in found
                    if (one.week < STEP_WEEK if label == "before" else first <= one.week - STEP_WEEK <= last)
                ]
                print("\n".join(said(f"  {label} weeks after", coverage(some))), flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.planning.scenarios", description=__doc__)
    parser.add_argument("--replicates", type=int, default=2000)
    parser.add_argument("--first-seed", type=int, default=1)
    parser.add_argument("--only", choices=["steady", "mutants", "walked"])
    given = parser.parse_args()
    first, many = given.first_seed, given.replicates
    print(HEAD)
    if given.only in (None, "steady"):
        _steady_tables(range(first, first + many))
    if given.only in (None, "mutants"):
        _mutant_tables(range(first, first + max(1, many // 4)))
    if given.only in (None, "walked"):
        _walked_tables(range(first, first + max(1, many // 20)))


if __name__ == "__main__":
    main()
