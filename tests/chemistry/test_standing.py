"""The word of a bath, what is used of it, and what runs out first."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from studiodesk.chemistry.rules.events import (
    Condemned,
    Given,
    PartialDump,
    SheetsThrough,
    StripRead,
    Water,
    WorkingSolution,
)
from studiodesk.chemistry.rules.settings import BathSettings, SettingsHistory
from studiodesk.chemistry.rules.standing import BathName, standing
from studiodesk.chemistry.rules.tank import fold
from studiodesk.units import PL_PER_L, PL_PER_ML

ZONE = ZoneInfo("Europe/Amsterdam")
T0 = datetime(2026, 3, 2, 8, tzinfo=UTC)
BATCH = BathSettings(2 * PL_PER_L, "batch", capacity_mm2_per_l=1_000_000, age_limit_s=10 * 86_400)
HAND = BathSettings(PL_PER_L, "hand", rate_ul_per_m2=100_000, unit_pl=50 * PL_PER_ML, turnover_limit=Decimal("5"))


def stands(bath, *events, since=T0, at=T0):
    history = SettingsHistory.always(bath)
    return standing(BathName("P", "b", "p"), fold(since, events, history, ZONE), history, at, ZONE)


def worn(sheets):
    return SheetsThrough(T0, 10_000, sheets)  # a hundredth of a litre's square metre


@pytest.mark.parametrize(
    ("sheets", "word", "used"),
    [(0, "new", 0), (1, "in use", 0.005), (159, "in use", 0.795), (160, "tired", 0.8), (199, "tired", 0.995),
     (200, "spent", 1), (201, "spent", 1.005)],
)  # fmt: skip
def test_a_batch_goes_from_new_to_spent_by_what_went_through(sheets, word, used):
    now = stands(BATCH, *([worn(sheets)] if sheets else []))
    assert (now.word, now.used, now.capacity_used) == (word, used, used)


def test_age_is_elapsed_seconds_and_a_bath_at_its_limit_is_spent():
    assert stands(BATCH, at=T0 + timedelta(days=10) - timedelta(seconds=1)).word == "tired"
    old = stands(BATCH, at=T0 + timedelta(days=10))
    assert (old.word, old.used, old.limit) == ("spent", 1.0, "age")
    assert old.change_by == T0 + timedelta(days=10)


def test_a_replenished_bath_is_new_until_three_turnovers():
    assert stands(HAND, worn(1), Given(T0, 2_999 * PL_PER_ML)).word == "new"
    seasoned = stands(HAND, worn(1), Given(T0, 3 * PL_PER_L))
    assert (seasoned.word, seasoned.turnovers) == ("in use", 3)


def test_water_is_no_turnover():
    assert stands(HAND, worn(1), Water(T0, 3 * PL_PER_L)).turnovers == 0


def test_a_turnover_limit_binds_only_if_it_was_entered():
    assert stands(HAND, worn(1), Given(T0, 4 * PL_PER_L)).limit == "turnovers"
    without = stands(replace(HAND, turnover_limit=None), worn(1), Given(T0, 400 * PL_PER_L))
    assert (without.limit, without.used, without.word) == (None, 0, "in use")


def test_too_much_given_shows_as_a_negative_remainder_and_the_next_sheets_ask_less():
    over = stands(HAND, SheetsThrough(T0, 400_000, 1), Given(T0, 50 * PL_PER_ML))
    assert (over.outstanding_pl, over.strokes_due, over.remainder_pl) == (-10 * PL_PER_ML, 0, -10 * PL_PER_ML)
    more = stands(HAND, SheetsThrough(T0, 400_000, 1), Given(T0, 50 * PL_PER_ML), SheetsThrough(T0, 600_000, 1))
    assert (more.outstanding_pl, more.strokes_due, more.remainder_pl) == (50 * PL_PER_ML, 1, 0)
    assert more.replenishment_due and not over.replenishment_due


def test_working_solution_adds_to_what_a_batch_can_do_and_a_partial_dump_takes_wear_away():
    assert stands(BATCH, worn(100), WorkingSolution(T0, 2 * PL_PER_L)).capacity_used == 0.25
    assert stands(BATCH, worn(100), PartialDump(T0, PL_PER_L)).capacity_used == 0.25
    assert stands(BATCH, worn(100), PartialDump(T0, 2 * PL_PER_L)).capacity_used == 0


def test_condemned_is_spent_whatever_the_sums_say():
    now = stands(BATCH, worn(1), Condemned(T0))
    assert (now.word, now.used, now.limit) == ("spent", 1, "condemned")


def test_silver_is_counted_only_where_it_is_asked_for_and_a_strip_decides():
    assert stands(BATCH, worn(10)).silver_ug_per_l is None
    fixer = replace(BATCH, silver_ug_per_m2=1_000_000, silver_limit_ug_per_l=100_000)
    counted = stands(fixer, worn(10))
    assert (counted.silver_ug_per_l, counted.parts["silver"], counted.limit) == (50_000, 0.5, "silver")
    measured = stands(fixer, worn(10), StripRead(T0, 110_000))
    assert measured.word == "spent"
    assert measured.silver_reckoned_ug_per_l == 50_000


def test_a_bath_without_a_known_refill_has_no_age_and_everything_counts():
    now = stands(BATCH, worn(100), since=None, at=T0 + timedelta(days=400))
    assert (now.since, now.age_s, now.capacity_used, now.limit) == (None, None, 0.5, "capacity")


def test_running_water_asks_nothing_and_has_no_limit():
    now = stands(BathSettings(PL_PER_L, "running water"), worn(5))
    assert (now.due_pl, now.outstanding_pl, now.strokes_due, now.turnovers, now.limit) == (None,) * 5
    assert (now.area_mm2, now.word) == (50_000, "in use")


def test_silver_that_settles_at_its_limit_or_under_it_brings_no_bath_to_its_end():
    # σ/r = 0.1 g/m² over 0.1 L/m²: it settles at 1 g/L
    fixer = replace(HAND, turnover_limit=None, silver_ug_per_m2=100_000, silver_limit_ug_per_l=1_000_000)
    near = [worn(1), StripRead(T0, 950_000)]
    settles = stands(fixer, *near)
    assert (settles.word, settles.limit, settles.silver_settles_below) == ("tired", "silver", True)
    assert not settles.nears_its_end
    passes = stands(replace(fixer, silver_limit_ug_per_l=999_000), *near)
    assert (passes.word, passes.silver_settles_below, passes.nears_its_end) == ("tired", False, True)
    old = stands(replace(fixer, turnover_limit=Decimal("1")), Given(T0, 900 * PL_PER_ML), *near)
    assert old.nears_its_end  # by its turnovers


@pytest.mark.parametrize("dosing", ["one-shot", "running water"])
def test_what_is_used_once_or_flows_away_has_no_capacity_age_or_silver_whatever_was_entered(dosing):
    entered = replace(BATCH, silver_ug_per_m2=1_000_000, silver_limit_ug_per_l=1)
    later = T0 + timedelta(days=30)
    wears = stands(entered, worn(300), at=later)
    assert (set(wears.parts), wears.word) == ({"capacity", "age", "silver"}, "spent")
    now = stands(replace(entered, dosing=dosing), worn(300), at=later)
    assert (now.parts, now.used, now.limit, now.word) == ({}, 0, None, "in use")
    assert (now.capacity_used, now.room_mm2, now.change_by, now.silver_ug_per_l) == (None,) * 4
    condemned = stands(replace(entered, dosing=dosing), Condemned(T0), at=later)
    assert (condemned.word, condemned.limit) == ("spent", "condemned")


def test_the_room_left_is_what_the_capacity_still_takes():
    assert stands(BATCH, worn(134)).room_mm2 == 660_000  # 2 L at 1 m² a litre, 1.34 m² through
    assert stands(BATCH, worn(134), WorkingSolution(T0, PL_PER_L)).room_mm2 == 1_660_000
    assert stands(BATCH, worn(201)).room_mm2 == 0
    assert stands(HAND, worn(1)).room_mm2 is None


def test_the_hour_of_change_is_said_only_within_two_days_of_it():
    end = T0 + timedelta(days=10)
    asked = [(end - timedelta(hours=48), False, 2), (end - timedelta(hours=47), True, 2),
             (end - timedelta(hours=10), True, 1), (end, True, 0), (end + timedelta(days=3), True, -3)]  # fmt: skip
    for at, soon, days in asked:
        now = stands(BATCH, at=at)
        assert (now.change_soon, now.change_in_days) == (soon, days), at
    assert not stands(HAND, at=end).change_soon


def test_a_replenished_bath_is_not_yet_seasoned_even_when_it_is_tired():
    tired = stands(replace(HAND, turnover_limit=Decimal("3")), worn(1), Given(T0, 2_500 * PL_PER_ML))
    assert (tired.word, tired.not_yet_seasoned) == ("tired", True)
    assert not stands(HAND, worn(1), Given(T0, 3 * PL_PER_L)).not_yet_seasoned
    assert not stands(BATCH, worn(1)).not_yet_seasoned


def test_limits_are_those_in_force_at_the_moment_asked():
    tighter = replace(BATCH, capacity_mm2_per_l=500_000)
    history = SettingsHistory([(T0, BATCH), (T0 + timedelta(days=1), tighter)])
    state = fold(T0, [worn(80)], history, ZONE)
    name = BathName("P", "b", "p")
    assert standing(name, state, history, T0, ZONE).capacity_used == 0.4
    assert standing(name, state, history, T0 + timedelta(days=1), ZONE).capacity_used == 0.8
