"""The simulator: independent of what it tests, the same for the same seed, and what it says it is."""

from __future__ import annotations

import ast
import csv
import subprocess
import sys
from collections import Counter
from datetime import date, timedelta
from pathlib import Path
from random import Random

import numpy as np
import pytest
from scipy import stats

from tests.upkeep.files import imported, loaded, sentences

from .simulator import AREA, Bursts, Recipe, Season, Step, Trade, simulate, usual
from .simulator.drawing import lognormal, negative_binomial, of_mixture, poisson
from .simulator.files import write
from .simulator.quarter import TANKS, harder_quarter

HERE = Path(__file__).parent / "simulator"
ONE = (Trade("rc", 12, 3.0, (("P-RC", 3),)),)


def imports(source: str) -> set[str]:
    """Every module that a file imports, anywhere in it."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            found.add("." * node.level + (node.module or ""))
    return found


def not_its_own(source: str) -> set[str]:
    """What is neither the standard library's nor the simulator's own (``.`` is its package, ``..`` is not)."""
    return {
        name
        for name in imports(source)
        if name.startswith("..") or (name[0] != "." and name.split(".")[0] not in sys.stdlib_module_names)
    }


def test_the_simulator_imports_nothing_of_the_product_nor_of_the_tests():
    files = sorted(HERE.glob("*.py"))
    assert len(files) >= 6
    assert {file.name: not_its_own(file.read_text(encoding="utf-8")) for file in files} == {
        f.name: set() for f in files
    }


@pytest.mark.parametrize(
    "bad",
    [
        "from studiodesk.planning.rules.usage import TAU",
        "def f():\n    import studiodesk.planning.rules.course",
        "from ..calibrating import known",
        "import importlib, scipy",
    ],
)
def test_an_import_from_outside_would_be_found(bad):
    assert not_its_own(bad)


def test_the_same_seed_gives_the_same_studio_and_another_another():
    recipe = usual(Random(5), sessions=20)
    assert simulate(recipe, 5) == simulate(recipe, 5)
    assert simulate(recipe, 5) != simulate(recipe, 6)


def fits(drawn: list[int], law: object) -> float:
    """p of Pearson's chi-square test of counts against a discrete law of scipy.stats, cells under 5 joined."""
    seen = Counter(drawn)
    cells, expected, observed = 0.0, [], []
    rest, left = 0, len(drawn)
    for number in range(max(drawn) + 1):
        cells += len(drawn) * law.pmf(number)  # type: ignore[attr-defined]
        rest += seen[number]
        if cells >= 5 and left - cells >= 5:
            expected.append(cells)
            observed.append(rest)
            left -= cells
            cells, rest = 0.0, 0
    expected.append(len(drawn) - sum(expected))
    observed.append(len(drawn) - sum(observed))
    return float(stats.chisquare(observed, expected).pvalue)


@pytest.mark.parametrize("mean", [0.4, 6.0, 40.0])
def test_poisson_numbers_are_scipy_s(mean):
    random = Random(21)
    assert fits([poisson(random, mean) for _ in range(8000)], stats.poisson(mean)) > 0.001
    assert fits([poisson(random, mean * 1.2) for _ in range(8000)], stats.poisson(mean)) < 0.001


@pytest.mark.parametrize(("mean", "shape"), [(0.7, 1.5), (9.0, 2.0), (30.0, 6.0)])
def test_sheets_are_negative_binomial_as_scipy_s(mean, shape):
    """scipy.stats.nbinom(n, p): n = shape, p = shape/(shape + mean)."""
    random = Random(22)
    law = stats.nbinom(shape, shape / (shape + mean))
    drawn = [negative_binomial(random, mean, shape) for _ in range(8000)]
    assert fits(drawn, law) > 0.001
    assert fits(drawn, stats.poisson(mean)) < 0.001


def test_members_differ_by_a_factor_of_mean_one_with_the_spread_asked_for():
    random = Random(23)
    drawn = np.array([lognormal(random, 0.8) for _ in range(40_000)])
    assert drawn.mean() == pytest.approx(1, abs=0.02)
    assert drawn.std() == pytest.approx(0.8, abs=0.05)


def test_lead_times_are_drawn_from_each_part_of_the_mixture():
    random = Random(24)
    drawn = np.array([of_mixture(random, ((1.0, 2.0, 1.0), (3.0, 30.0, 9.0))) for _ in range(20_000)])
    law = 0.25 * stats.gamma.cdf([1, 5, 20, 30, 45], 1, scale=2)
    law += 0.75 * stats.gamma.cdf([1, 5, 20, 30, 45], 9, scale=30 / 9)
    assert np.mean(drawn[:, None] <= np.array([1, 5, 20, 30, 45]), axis=0) == pytest.approx(law, abs=0.012)


def day_of(studio, booking) -> int:
    return (booking.starts.astimezone(studio.zone).date() - studio.first).days


def area(studio, first: int, last: int, member: str | None = None) -> int:
    """mm² of the stays of days ``first`` to ``last`` (not included), of one member or all."""
    found = 0
    for one in studio.bookings:
        if first <= day_of(studio, one) < last and member in (None, one.member):
            found += sum(line.area_mm2 for line in one.fed)
    return found


def test_stays_lie_in_opening_hours_and_never_outnumber_the_places():
    for seed in range(1, 21):
        studio = simulate(usual(Random(seed), sessions=60), seed)
        spans = [span for spans in studio.opening.values() for span in spans]
        for one in studio.bookings:
            assert any(opens <= one.starts and one.ends <= shuts for opens, shuts in spans)
            assert one.made_at < one.starts < one.ends
            assert one.cancelled_at is None or one.made_at <= one.cancelled_at <= one.starts
            assert one.cancelled_at is None or not one.fed
            assert all(one.starts <= line.at <= one.ends for line in one.fed)
        places = {machine.process: machine.places for machine in studio.machines}
        kept = [one for one in studio.bookings if one.cancelled_at is None]
        for one in kept:
            there = [o for o in kept if o.process == one.process and o.starts <= one.starts < o.ends]
            assert len(there) <= places[one.process]


def test_a_dominant_member_prints_about_two_thirds():
    shares = []
    for seed in range(1, 31):
        studio = simulate(Recipe(ONE, weeks_before=12, members=15, dominant=True), seed)
        shares.append(area(studio, 0, 112, "M001") / area(studio, 0, 112))
    assert np.mean(shares) == pytest.approx(2 / 3, abs=0.05)


@pytest.mark.parametrize("of", ["of_rate", "of_demand"])
def test_a_step_of_half_more_is_half_more(of):
    recipe = Recipe(ONE, weeks_before=16, weeks_after=0, steps=(Step(56, **{of: 1.5}),))
    studios = [simulate(recipe, seed) for seed in range(1, 81)]
    more = sum(area(studio, 56, 112) for studio in studios) / sum(area(studio, 0, 56) for studio in studios)
    assert more == pytest.approx(1.5, abs=0.1)


def test_a_season_swings_and_members_come_in_bursts():
    season = Season(of_demand=0.5, period_days=112)
    studios = [simulate(Recipe(ONE, 16, 0, season=season), seed) for seed in range(1, 61)]
    # The mean of a sine over its upper half is 2/π, so the halves are as 1 + 1/π to 1 − 1/π.
    high, low = (sum(area(studio, *days) for studio in studios) for days in ((0, 56), (56, 112)))
    assert high / low == pytest.approx((1 + 1 / np.pi) / (1 - 1 / np.pi), rel=0.1)
    # Far more unevenly over the weeks than by chance (the variance of a Poisson number is its mean).
    for bursts, least, most in ((None, 0.8, 1.25), (Bursts(), 1.6, 9.0)):
        recipe = Recipe(ONE, 20, 0, members=5, keenness=50, bursts=bursts, closed_share=0, cancels=0)
        ratios = []
        for seed in range(1, 31):
            studio = simulate(recipe, seed)
            weeks = Counter(
                (one.starts.astimezone(studio.zone).date() - studio.first).days // 7 for one in studio.bookings
            )
            counts = [weeks[n] for n in range(20)]
            ratios.append(np.var(counts, ddof=1) / np.mean(counts))
        assert least < np.mean(ratios) < most


def test_a_harder_quarter_passes_many_limits_early_late_and_never_refilled():
    for seed in (1, 2, 3):
        quarter = harder_quarter(seed)
        assert len(quarter.passages) >= 40
        assert len({p.processor for p in quarter.passages}) >= 3
        assert {p.limit for p in quarter.passages} == {"capacity", "silver", "turnovers"}
        refills = Counter((e.processor, e.bath) for e in quarter.entries if e.event == "refill")
        passed = Counter((p.processor, p.bath) for p in quarter.passages)
        assert [(t.processor, t.code) for t in TANKS if not refills[t.processor, t.code]] == [("P-N", "fix")]
        early = sum(max(0, times - passed[tank]) for tank, times in refills.items())
        assert early >= 4
        assert {tank.dosing for tank in TANKS} == {"batch", "machine", "hand"}


def test_its_files_are_taken_in_without_a_refusal(db, tmp_path):
    write(harder_quarter(4, weeks=5, first=date(2026, 10, 5)), tmp_path)
    assert not loaded((tmp_path / "studio.toml").read_bytes()).warnings
    names = ("members.csv", "bookings.csv", "feeds.csv", "bath_events.csv")
    outcome = imported({name: (tmp_path / name).read_bytes() for name in names})
    assert sentences(outcome) == []
    rows = {name: list(csv.DictReader((tmp_path / name).open(encoding="utf-8"))) for name in names}
    assert {file.file: file.new for file in outcome.files} == {name: len(found) for name, found in rows.items()}
    # A file says no more than was known when it ended.
    end = "2026-11-09T05:00:00Z"
    assert max(row["fed_at"] for row in rows["feeds.csv"]) < end
    assert max(row["made_at"] for row in rows["bookings.csv"]) <= end
    assert (
        max(row["cancelled_at"] for row in rows["bookings.csv"]) <= end < max(r["start"] for r in rows["bookings.csv"])
    )


def test_the_command_writes_the_same_files_for_the_same_seed(tmp_path):
    for folder in ("a", "b"):
        command = [
            sys.executable,
            "-m",
            "tests.planning.simulator",
            str(tmp_path / folder),
            "--seed",
            "9",
            "--weeks",
            "3",
        ]
        subprocess.run(command, check=True, capture_output=True, cwd=HERE.parents[2])
    written = sorted(path.name for path in (tmp_path / "a").iterdir())
    assert written == ["bath_events.csv", "bookings.csv", "feeds.csv", "members.csv", "studio.toml"]
    assert all((tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes() for name in written)
    assert AREA["203x254"] == 51_562
    assert harder_quarter(9, 3).until - harder_quarter(9, 3).studio.first == timedelta(weeks=3)
