"""Too little use of a replenished tank: simulated with a seed, from the studio's own figure, kept in the night's row.

The simulation is held against one of numpy's with fifty times the paths, written from the same sentence: in some four
weeks, ending within the next four, less goes through than is needed.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from itertools import accumulate
from typing import Any

import numpy as np
import pytest

from studiodesk.chemistry.models import BathSetting
from studiodesk.planning.actions import forecast_tonight, keep_forecasts
from studiodesk.planning.models import KeptForecast
from studiodesk.planning.queries import foretell
from studiodesk.planning.queries.forecasting import _behind, too_little
from studiodesk.planning.rules.paths import PATHS, LowUse, low_use
from studiodesk.planning.rules.values import Course
from studiodesk.upkeep.actions import load_studio
from tests import makers
from tests.planning.evenings import AMSTERDAM, SHEET_MM2, Past, local, refill
from tests.upkeep.files import NOW, example, loaded, refusals

DAY, WEEK = timedelta(days=1), timedelta(weeks=1)
TODAY = date(2026, 11, 25)  # a Wednesday
NIGHT = local(TODAY, 3)
FIX = ("P-RC", "fix")


def course(day_mm2: float, level_cv2: float = 0.0, scatter: float = 60_000.0, days: int = 121) -> Course:
    """The same area each day; the level of all of them is uncertain by ``level_cv2``."""
    mean = list(accumulate([day_mm2] * days))
    return Course(1, TODAY, mean, [m * scatter + level_cv2 * m * m for m in mean], 0.0, 0, scatter_mm2=scatter)


def asked(of: Course, behind: Sequence[float], needed: float, seed: int = 1) -> LowUse:
    return low_use(of, behind, needed, seed=seed)


def test_the_same_seed_gives_the_same_answer_and_another_nearly_the_same() -> None:
    of, behind = course(100_000, 0.2), [100_000.0] * 28
    first = asked(of, behind, 2_500_000)
    assert asked(of, behind, 2_500_000) == first
    others = {asked(of, behind, 2_500_000, seed).probability for seed in (2, 3, 4)}
    assert len(others | {first.probability}) > 1
    assert all(other == pytest.approx(first.probability, abs=0.04) for other in others)


def test_where_nothing_is_fed_too_little_is_certain_and_begins_today() -> None:
    assert asked(course(0.0), [0.0] * 28, 1.0) == LowUse(1.0, TODAY)
    # what went through until now carries the tank until it falls out of the four weeks
    one_evening = [0.0] * 18 + [3_000_000.0] + [0.0] * 9
    assert asked(course(0.0), one_evening, 2_000_000) == LowUse(1.0, TODAY + 18 * DAY)


def test_where_plenty_is_fed_too_little_is_impossible() -> None:
    assert asked(course(1_000_000, 0.05), [1_000_000.0] * 28, 2_000_000) == LowUse(0.0, None)
    assert asked(course(0.0), [0.0] * 28, 0.0) == LowUse(0.0, None)  # idle days alone ask more than that


def test_a_tank_younger_than_four_weeks_is_not_judged_before_it_is_four_weeks_old() -> None:
    assert asked(course(0.0), [], 1.0) == LowUse(1.0, TODAY + 27 * DAY)
    assert asked(course(0.0), [0.0] * 10, 1.0) == LowUse(1.0, TODAY + 17 * DAY)


@pytest.mark.parametrize(
    ("day_mm2", "level_cv2", "young", "needed"),
    [(100_000, 0.0, True, 2_800_000), (100_000, 0.2, False, 2_400_000), (50_000, 0.5, False, 1_000_000),
     (200_000, 0.1, True, 4_000_000)],
)  # fmt: skip
def test_the_chance_is_that_of_an_independent_simulation(
    day_mm2: float, level_cv2: float, young: bool, needed: float
) -> None:
    paths, scatter = 200_000, 60_000.0
    random = np.random.default_rng(20261125)
    behind = [] if young else [day_mm2] * 28
    level = random.gamma(1 / level_cv2, level_cv2, (paths, 1)) if level_cv2 else np.ones((paths, 1))
    days = random.gamma(day_mm2 * level / scatter, scatter, (paths, 29))
    walk = np.hstack([np.tile(np.array(behind), (paths, 1)), days]) if behind else days
    sums = np.cumsum(np.hstack([np.zeros((paths, 1)), walk]), axis=1)
    windows = sums[:, 28:] - sums[:, :-28]
    fresh = windows[:, 1:] if behind else windows  # the first of them lies wholly behind
    expected = float(np.mean((fresh < needed).any(axis=1)))
    assert 0.05 < expected < 0.95
    found = asked(course(day_mm2, level_cv2), behind, needed).probability
    assert found == pytest.approx(expected, abs=4 * (expected * (1 - expected) / PATHS) ** 0.5)


# --- on the database --------------------------------------------------------------------------------------------------

LOW = b"replenish_ml_per_m2 = 500\n  low_use_turnovers = 0.25\n"


def test_the_figure_of_the_studios_file_is_read_and_kept_as_it_was_entered(db: Any) -> None:
    loaded(example("studio.toml").replace(b"replenish_ml_per_m2 = 500\n", LOW))
    rows = {
        (row.bath.processor.code, row.bath.code): (row.low_use_turnovers, row.as_entered.get("low_use_turnovers"))
        for row in BathSetting.objects.select_related("bath__processor")
    }
    assert rows.pop(("P-RC", "fix")) == (Decimal("0.25"), "0.25")
    assert set(rows.values()) == {(None, None)}
    later = example("studio.toml").replace(b"replenish_ml_per_m2 = 500\n", LOW.replace(b"0.25", b'"0.3"'))
    load_studio(data=later, now=NOW + DAY)
    newest = BathSetting.objects.filter(bath__code="fix").order_by("-entered_at")[0]
    assert newest.low_use_turnovers == Decimal("0.3")


@pytest.mark.parametrize("value", [b"-1", b'"little"', b"true"])
def test_a_figure_that_is_none_is_refused(db: Any, value: bytes) -> None:
    said = refusals(example("studio.toml").replace(b"replenish_ml_per_m2 = 500\n", LOW.replace(b"0.25", value)))
    assert len(said) == 1 and "low_use_turnovers" in said[0]


def weeks_of(house: Any, sheets: int) -> None:
    adri, past = makers.member("Adri"), Past(house)
    for day in (0, 1, 2, 3, 4, 6):  # Wednesday to Sunday, and Tuesday: yesterday was the last
        past.weekly(adri, TODAY - 16 * WEEK + day * DAY, 16, sheets)
    past.record(NIGHT)


def little_use_is(house: Any, turnovers: str | None) -> None:
    BathSetting.objects.filter(bath=house.baths[FIX]).update(low_use_turnovers=turnovers)


def kept(house: Any, why: str = "nightly") -> Any:
    return KeptForecast.objects.filter(bath=house.baths[FIX], day=TODAY, why=why).latest("at").low_use


@pytest.mark.parametrize(
    ("turnovers", "least", "most"),
    # six evenings of 20 sheets bring 480·0.0516 m²·0.5 L/m² = 12.4 L in four weeks, of 9 L: 1.4 turnovers
    [("0.1", 0.0, 0.02), ("0.8", 0.1, 0.9), ("4", 1.0, 1.0)],
)
def test_the_night_says_how_likely_too_little_use_is(house: Any, turnovers: str, least: float, most: float) -> None:
    weeks_of(house, 20)
    little_use_is(house, turnovers)
    forecast_tonight(now=NIGHT)
    found = kept(house)
    assert Decimal(found["turnovers"]) == Decimal(turnovers)
    assert least <= found["probability"] <= most
    assert (found["by"] is not None) == (found["probability"] >= 0.5)
    others = KeptForecast.objects.filter(day=TODAY).exclude(bath=house.baths[FIX])
    assert others.count() == 2 and set(others.values_list("low_use", flat=True)) == {None}


def test_without_a_figure_nothing_is_said_and_a_bath_that_is_not_replenished_has_none(house: Any) -> None:
    weeks_of(house, 20)
    BathSetting.objects.filter(bath=house.baths["P-CO", "dev"]).update(low_use_turnovers="5")
    forecast_tonight(now=NIGHT)
    assert set(KeptForecast.objects.values_list("low_use", flat=True)) == {None}


def test_asked_for_by_day_the_night_s_answer_is_carried_on(house: Any) -> None:
    weeks_of(house, 20)
    little_use_is(house, "0.8")
    forecast_tonight(now=NIGHT)
    keep_forecasts(now=NIGHT + timedelta(hours=12))
    assert kept(house, "asked") == kept(house)


def test_after_a_filling_the_night_s_answer_is_dropped_for_that_tank_alone(house: Any) -> None:
    """It spoke of what was poured away; the next night reckons anew."""
    weeks_of(house, 20)
    beside = house.baths["P-RC", "dev"]
    little_use_is(house, "0.8")
    BathSetting.objects.filter(bath=beside).update(low_use_turnovers="0.5")
    forecast_tonight(now=NIGHT)
    filled = NIGHT + timedelta(hours=10)
    refill(house, filled, filled, FIX)
    forecast_tonight(now=filled + timedelta(minutes=1))
    assert kept(house) is not None and kept(house, "bath change") is None
    others = KeptForecast.objects.filter(bath=beside, day=TODAY).order_by("at").values_list("why", "low_use")
    (_, night), (why, carried) = others
    assert why == "bath change" and carried == night is not None


def test_a_night_reckoned_again_says_the_same(house: Any) -> None:
    weeks_of(house, 20)
    little_use_is(house, "0.8")
    ways = [
        next(too_little(told, AMSTERDAM) for told in foretell(NIGHT, live=True) if told.of.bath == "fix")
        for _ in range(2)
    ]
    assert ways[0] == ways[1] and ways[0] is not None


def test_a_tank_filled_ten_days_ago_is_judged_on_what_it_took_since(house: Any) -> None:
    """Before it, another tank was used much: that does not save this one."""
    past = Past(house)
    past.loose(local(TODAY - 12 * DAY, 18), 2000)
    past.loose(local(TODAY - 40 * WEEK, 18), 1)
    past.record(NIGHT - 11 * DAY)
    little_use_is(house, "0.5")
    chances = {}
    for days in (20, 10):
        refill(house, local(TODAY - days * DAY, 9), NIGHT, FIX)
        told = next(one for one in foretell(NIGHT, live=True) if one.of.bath == "fix")
        behind = _behind(told, AMSTERDAM)
        chances[days] = (len(behind), sum(behind))
    assert chances == {20: (20, 2000 * SHEET_MM2), 10: (10, 0)}
