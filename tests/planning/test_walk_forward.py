"""What the walk forward holds forecasts against: read from the files alone, and right where that is known otherwise."""

from __future__ import annotations

import ast
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from tests.planning import truth as truth_module
from tests.planning.simulator.files import write
from tests.planning.simulator.quarter import harder_quarter
from tests.planning.truth import Truth
from tests.planning.walk_forward import AGE, CENSORED, PASSED, Row, mondays, table, totals
from tests.upkeep import recount as recount_module

STUDIO = """
[studio]
name = "Two baths"
time_zone = "Europe/Amsterdam"
currency = "EUR"
[[processes]]
code = "rc"
name = "RC"
light = "safelight"
[[processors]]
code = "P"
name = "Processor"
process = "rc"
feed_width_mm = 600
booths_at_once = 2
  [[processors.baths]]
  code = "dev"
  name = "Developer"
  volume_ml = 1000
  dosing = "batch"
  capacity_m2_per_l = 1
  age_limit_days = 40
  [[processors.baths]]
  code = "fix"
  name = "Fixer"
  volume_ml = 1000
  dosing = "hand"
  replenish_ml_per_m2 = 500
  measure_ml = 50
  turnover_limit = 0.5
[[sheet_sizes]]
code = "A"
name = "a tenth of a square metre"
width_mm = 200
length_mm = 500
"""
EVENTS = """at,processor,bath,event,ml,note
2026-06-01T08:00:00Z,P,dev,refill,,
2026-06-01T08:00:00Z,P,fix,refill,,
2026-06-10T08:00:00Z,P,dev,refill,,
"""
FEEDS = """fed_at,processor,member,booking,sheet,sheets,kind
2026-06-02T12:00:00Z,P,,,A,4,print
2026-06-09T12:00:00Z,P,,,A,3,print
2026-06-16T12:00:00Z,P,,,A,2,print
2026-06-23T22:30:00Z,P,,,A,2,print
2026-07-28T12:00:00Z,P,,,A,1,print
"""


@pytest.fixture
def small(tmp_path: Path) -> Truth:
    (tmp_path / "studio.toml").write_text(STUDIO)
    (tmp_path / "bath_events.csv").write_text(EVENTS)
    (tmp_path / "feeds.csv").write_text(FEEDS)
    return Truth(tmp_path)


def at(text: str) -> datetime:
    return datetime.fromisoformat(text + "T06:00:00+02:00")


def test_the_truth_imports_nothing_of_studiodesk() -> None:
    for module in (truth_module, recount_module):
        tree = ast.parse(Path(module.__file__ or "").read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            names = [one.name for one in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            assert not [name for name in names if name.split(".")[0] in ("studiodesk", "studiodesk_site", "django")]


def test_only_what_went_through_after_the_forecast_counts_whatever_was_refilled(small: Truth) -> None:
    # Ten sheets of the first tank: 4 before the 8th, then 3 and 2, and the tenth late on the 23rd (the 24th, local)
    came = small.came(("P", "dev"), at("2026-06-08"))
    assert (small.day(came.at), came.limit) == (date(2026, 6, 24), "capacity")
    # the second tank began at the 10th with nothing: four sheets are too few, and its age ends it
    came = small.came(("P", "dev"), at("2026-06-11"))
    assert (small.day(came.at), came.limit) == (date(2026, 7, 20), "age")


def test_by_hand_each_measure_counts_as_it_falls_due(small: Truth) -> None:
    # 500 mL of half a turnover are ten measures of 50 mL, one a sheet: the tenth sheet
    came = small.came(("P", "fix"), at("2026-06-15"))
    assert (small.day(came.at), came.limit) == (date(2026, 6, 24), "turnovers")
    assert small.came(("P", "fix"), at("2026-06-29")).at == datetime.fromisoformat("2026-07-28T12:00:00+00:00")


def test_what_was_passed_already_and_what_never_came_are_told_apart(small: Truth) -> None:
    assert not small.passed(("P", "dev"), at("2026-06-11"))
    assert small.passed(("P", "dev"), at("2026-07-21"))  # too old
    assert small.came(("P", "fix"), at("2026-07-29")).at is None
    assert small.area_until("P", at("2026-06-08"), date(2026, 6, 16)) == 500_000


def test_the_truth_is_what_a_simulated_staff_saw(tmp_path: Path) -> None:
    # The simulator reckons its tanks by sums of its own; seed 20260706
    quarter = harder_quarter(20260706)
    write(quarter, tmp_path)
    truth = Truth(tmp_path)
    seen = 0
    for passage in quarter.passages:
        key = (passage.processor, passage.bath)
        began = max((when for when in truth.refills[key] if when < passage.at), default=None)
        if began is None or truth.baths[key]["dosing"] == "hand":  # by hand staff forget, and no measure falls due
            continue
        ends = truth.age_ends(key, began)
        came = truth.came(key, began)
        assert not truth.passed(key, began)
        if ends is not None and truth.day(ends) <= truth.day(passage.at):
            assert came.limit == AGE
        else:
            early = (truth.day(passage.at) - truth.day(came.at)).days
            # the simulator looks after each line, the truth after each sheet, before the next strokes dilute it again
            sawing = passage.limit == "silver" and truth.baths[key]["dosing"] == "machine"
            assert came.limit == passage.limit, passage
            assert 0 <= early <= (2 if sawing else 0), passage
        assert truth.passed(key, passage.at)
        seen += 1
    assert seen >= 30


def test_forecasts_are_made_on_mondays_from_the_fourth_week_on(small: Truth) -> None:
    made = mondays(small, 4)
    assert [moment.date() for moment in made] == [date(2026, 6, 22) + timedelta(weeks=n) for n in range(6)]
    assert all(moment.utcoffset() == timedelta(hours=2) and moment.hour == 6 for moment in made)


ROW = Row(
    date(2026, 6, 1), "P", "dev", date(2026, 6, 10), date(2026, 6, 14), date(2026, 6, 20), "capacity", None,
    date(2026, 7, 1), 0.4, ((7, 0.3), (14, 0.95)),
)  # fmt: skip


@pytest.mark.parametrize(
    ("on", "inside", "off"), [("09", False, -5), ("10", True, -4), ("14", True, 0), ("20", True, 6), ("21", False, 7)]
)
def test_the_ends_of_a_range_lie_inside_it(on: str, inside: bool, off: int) -> None:
    row = replace(ROW, on=date(2026, 6, int(on)))
    assert (row.inside, row.off) == (inside, off)


def test_a_range_without_an_end_holds_all_that_comes_later() -> None:
    assert replace(ROW, on=date(2026, 6, 29), p90=None).inside
    assert replace(ROW, on=date(2026, 6, 29), p50=None, p90=None).off is None
    assert replace(ROW, on=date(2026, 6, 9), p90=None).inside is False


def test_a_censored_forecast_is_wrong_only_once_its_range_is_over() -> None:
    censored = replace(ROW, came=CENSORED)
    assert censored.inside is False
    assert replace(censored, p90=date(2026, 7, 2)).inside is None
    assert replace(censored, p90=None).inside is None


def test_the_totals_count_each_kind_apart() -> None:
    rows = [
        replace(ROW, on=date(2026, 6, 14)),
        replace(ROW, on=date(2026, 6, 25), processor="Q", pit=0.96),
        replace(ROW, on=date(2026, 6, 12), came=AGE, bath="fix"),
        replace(ROW, came=CENSORED, bath="fix"),
        replace(ROW, came=PASSED, bath="fix"),
    ]
    said = totals(rows)
    assert said[0].startswith("5 forecasts: 2 observed by use (2 different days), 1 by age, 1 censored, 1 of what")
    assert "inside 80 %: 1 of 2 (50%)   median absolute error: 5.5 days   mean PIT: 0.680" in said[1]
    assert "of the censored 1" in said[4]
    assert "area in  7 days  inside 80 %: 2 of 2 (100%)   mean PIT: 0.300" in said[5]
    assert "area in 14 days  inside 80 %: 0 of 2" in said[6]
    assert len(table(rows)) == 6
