"""Rates, strokes and bottles as they are entered, and what figures lead to, against published figures."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.chemistry.rules import entered_rates as rates
from studiodesk.chemistry.rules.bottle import fall, unseen_sheets
from studiodesk.chemistry.rules.leading import Use, area_to_silver_mm2, leads_to, weeks_to_season
from studiodesk.chemistry.rules.settings import BathSettings
from studiodesk.units import PL_PER_L, PL_PER_ML

SHEET = 203 * 254
MACHINE = BathSettings(9 * PL_PER_L, "machine", rate_ul_per_m2=500_000, unit_pl=12 * PL_PER_ML)


# --- rates --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "unit", "width", "ml_per_m2", "source"),
    [
        (650, rates.PER_100_FEET, 35, "609.3", "no. 18, class H: KODAK TI2497 (11-99) p. 3, film developer"),
        (600, rates.PER_100_FEET, 35, "562.4", "class H: KODAK TI2497 (11-99) p. 3, fixer"),
        (12_000, rates.PER_100_FEET, 35, "11249", "class H: KODAK TI2497 (11-99) p. 3, wash"),
        (20, rates.PER_100_FEET, 35, "18.75", "no. 20, class H: KODAK TI2497, leader with good squeegees"),
        (690, rates.PER_100_FEET, 35, "646.8", "class H: KODAK H-24.09 Module 9 (2006), Tables 9-3, 9-4"),
        (345, rates.PER_100_FEET, 16, "707.4", "class H: same tables, 16 mm at half the 35 mm rate"),
        (15, rates.PER_FT2, None, "161.459", "class D: 15 mL/ft² is from memory, the conversion an identity"),
    ],
)
def test_a_rate_by_length_becomes_a_rate_by_area(
    value: int, unit: str, width: int | None, ml_per_m2: str, source: str
) -> None:
    found = Decimal(rates.rate_ul_per_m2(value, unit, width_mm=width)) / 1000
    assert found == pytest.approx(Decimal(ml_per_m2), rel=Decimal("0.0002")), source


def test_a_rate_by_sheet_is_what_that_sheet_asks() -> None:
    # no. 15, class H: 32 sheets of 8×10 in from a kit of 2 L is 62.5 mL a sheet (user report, class S2)
    rate = rates.rate_ul_per_m2("62.5", rates.PER_SHEET, sheet_mm2=SHEET)
    assert rate * SHEET / PL_PER_ML == pytest.approx(62.5, rel=1e-6)
    assert rates.capacity_mm2_per_l(16, rates.SHEETS_PER_L, sheet_mm2=SHEET) == 16 * SHEET
    for wrong in ((1, rates.PER_SHEET, None, None), (1, rates.PER_FOOT, None, None), (1, "buckets", 1, 1)):
        with pytest.raises(ValueError, match="needs more"):
            rates.rate_ul_per_m2(wrong[0], wrong[1], sheet_mm2=wrong[2], width_mm=wrong[3])
    with pytest.raises(ValueError, match="needs more"):
        rates.capacity_mm2_per_l(16, rates.SHEETS_PER_L)


@given(value=st.decimals(min_value="0.01", max_value=9999, places=2), sheet=st.integers(5_000, 1_000_000))
def test_every_unit_says_the_same_rate(value: Decimal, sheet: int) -> None:
    """By sheet, by length and by area: the same liquid for the same paper, to the rounding of one µL/m²."""
    rate = rates.rate_ul_per_m2(value, rates.PER_SHEET, sheet_mm2=sheet)
    by_area = rates.rate_ul_per_m2(value * 1_000_000 / sheet, rates.PER_M2)
    by_length = rates.rate_ul_per_m2(value, rates.PER_METRE, width_mm=max(1, sheet // 1000))
    assert abs(rate - by_area) <= 1
    assert abs(by_length * max(1, sheet // 1000) / 1000 - float(value * 1000)) <= max(1, sheet // 1000) / 1000


# --- strokes ------------------------------------------------------------------------------------------------------


def test_a_stroke_is_the_mean_of_three_catches() -> None:
    # no. 48, class P: the sensor is fired three times into a cylinder, mean = total / 3.
    # Source: KODAK X-OMAT Clinic 1 manual p. 61
    caught = [ml * PL_PER_ML for ml in (61, 59, 63)]
    assert rates.mean_stroke_pl(caught, 1) == 61 * PL_PER_ML
    assert rates.mean_stroke_pl([one * 5 for one in caught], 5) == 61 * PL_PER_ML
    for too_few in ([], caught[:2]):
        with pytest.raises(ValueError, match="three catches"):
            rates.mean_stroke_pl(too_few, 1)


def test_over_five_per_cent_is_flagged_and_exactly_five_is_not() -> None:
    was = 12_000
    assert not rates.is_flagged(was, 12_600) and not rates.is_flagged(was, 11_400)
    assert rates.is_flagged(was, 12_601) and rates.is_flagged(was, 11_399)
    assert not rates.is_flagged(None, 5)
    assert rates.change_of_stroke(was, 11_400) == Fraction(1, 20)


@given(st.lists(st.integers(1, 10**15), min_size=3, max_size=9), st.integers(1, 20))
def test_the_mean_lies_among_its_catches(caught: list[int], strokes: int) -> None:
    mean = rates.mean_stroke_pl(caught, strokes)
    assert min(caught) // strokes <= mean <= -(-max(caught) // strokes)
    assert abs(mean * len(caught) * strokes - sum(caught)) * 2 <= len(caught) * strokes


# --- the bottle ---------------------------------------------------------------------------------------------------


def test_what_went_unseen_is_the_fall_less_what_the_book_knows() -> None:
    seen = fall(4000 * PL_PER_ML, 1000 * PL_PER_ML, 3200 * PL_PER_ML, 1440 * PL_PER_ML, 12 * PL_PER_ML)
    assert seen.fell_pl == 1800 * PL_PER_ML and seen.unseen_pl == 360 * PL_PER_ML
    assert seen.share == Fraction(1, 5) and seen.is_worth_asking and not seen.gives_short
    # at 240 mL/m² one 203×254 sheet asks 12.375 mL: 360 mL are 29 of them
    assert unseen_sheets(seen.unseen_pl, 240_000, SHEET) == 29
    exactly = fall(1800, 0, 0, 1620, 1)
    assert exactly.share == Fraction(1, 10) and not exactly.is_worth_asking
    short = fall(1000, 0, 200, 1000, 1)
    assert short.gives_short and not short.is_worth_asking and short.unseen_pl == -200
    level = fall(1000, 0, 1000, 0, 1)
    assert level.share is None and not level.gives_short and not level.is_worth_asking
    assert unseen_sheets(-5, 240_000, SHEET) == 0 and unseen_sheets(5, 0, SHEET) == 0


@given(st.integers(0, 500), st.integers(1_000, 2_000_000), st.integers(1_000, 1_000_000))
def test_sheets_that_went_unseen_are_found_again(sheets: int, rate: int, area: int) -> None:
    assert unseen_sheets(sheets * rate * area, rate, area) == sheets


# --- what figures lead to -----------------------------------------------------------------------------------------


def codes(settings: BathSettings, use: Use, sheet: int | None = SHEET) -> list[str]:
    return [one.code for one in leads_to(settings, use, sheet_mm2=sheet)]


def test_silver_settles_where_the_facts_say() -> None:
    # class D: 0.65 g/m² over 0.215 L/m² = 3.0 g/L and over 0.054 L/m² = 12 g/L (coating and rates from memory)
    blix = BathSettings(
        3 * PL_PER_L, "hand", rate_ul_per_m2=215_000, silver_ug_per_m2=650_000, silver_limit_ug_per_l=4_000_000
    )
    [lead] = [one for one in leads_to(blix, Use(0, 0)) if one.code.startswith("silver")]
    assert lead.code == "silver_never" and lead.facts["settles"] == pytest.approx(3.02e6, rel=0.01)
    low = replace(blix, rate_ul_per_m2=54_000)
    [lead] = [one for one in leads_to(low, Use(0, 0)) if one.code.startswith("silver")]
    assert lead.code == "silver_always" and lead.facts["settles"] == pytest.approx(12.04e6, rel=0.01)
    # the area is where the tank's own equation passes the limit: Ag(A) = (σ/r)·(1 − e^(−rA/V))
    area = area_to_silver_mm2(low)
    assert area is not None
    reached = 0.65 / 0.054 * (1 - math.exp(-0.054 * area / 1e6 / 3))
    assert reached == pytest.approx(4.0, rel=1e-9)


def test_a_batch_reaches_its_silver_limit_in_a_straight_line() -> None:
    # class D: 0.05 g of silver an 8×10 in sheet, from the published pairs 10 prints ↔ 0.5 g/L and 40 ↔ 2 g/L
    # (archival processing page, class S2, quoting a fibre processing sheet): 2 L to 2 g/L are 80 sheets
    fixer = BathSettings(
        2 * PL_PER_L, "batch", silver_ug_per_m2=round(0.05 / 0.0516128 * 1e6), silver_limit_ug_per_l=2_000_000
    )
    area = area_to_silver_mm2(fixer)
    assert area is not None and area / 51_612.8 == pytest.approx(80, rel=1e-5)
    assert codes(fixer, Use(0, 0))[0] == "silver_after"


def test_a_tank_that_never_seasons_is_told_so() -> None:
    # class D: V/(4·r) a week for one turnover in four weeks at 161 mL/m²: 2 L 3.11, 4 L 6.21, 6 L 9.32, 17 L 26.4 m²
    for litres, m2 in ((2, 3.11), (4, 6.21), (6, 9.32), (10, 15.5), (17, 26.4)):
        tank = BathSettings(litres * PL_PER_L, "machine", rate_ul_per_m2=161_000, unit_pl=10 * PL_PER_ML)
        weeks = weeks_to_season(tank, Use(m2 * 1e6, 28))
        assert weeks == pytest.approx(12, rel=0.003)  # three turnovers, one in four weeks each
    small = replace(MACHINE, volume_pl=6 * PL_PER_L, rate_ul_per_m2=161_000, age_limit_s=42 * 86_400)
    assert "never_seasons" in codes(small, Use(2e6, 28)) and "seasons" in codes(small, Use(20e6, 28))
    assert "never_seasons" in codes(replace(small, age_limit_s=None, low_use_turnovers=Decimal(1)), Use(9.3e6, 28))
    assert "seasons" in codes(replace(small, age_limit_s=None, low_use_turnovers=Decimal(1)), Use(9.4e6, 28))
    assert "seasons" not in codes(small, Use(2e6, 13)) and "use_not_known" in codes(small, Use(2e6, 13))


def test_capacity_or_age_which_comes_first() -> None:
    batch = BathSettings(3 * PL_PER_L, "batch", capacity_mm2_per_l=1_600_000, age_limit_s=21 * 86_400)
    found = {one.code: one.facts for one in leads_to(batch, Use(1_000_000, 28), sheet_mm2=SHEET)}
    assert found["capacity"] == {"area": 4_800_000, "sheets": 93}
    assert found["age_first"]["used"] == pytest.approx(3 / 4.8)
    assert "capacity_first" in codes(batch, Use(2_000_000, 28))
    assert codes(replace(batch, capacity_mm2_per_l=None, age_limit_s=None), Use(1e6, 28)) == [
        "batch_without_capacity",
        "no_limit",
    ]


def test_strokes_a_sheet() -> None:
    assert "unit_each" in codes(replace(MACHINE, rate_ul_per_m2=161_000), Use(0, 0))
    found = {one.code: one.facts for one in leads_to(MACHINE, Use(0, 0), sheet_mm2=SHEET)}
    assert found["units_a_sheet"]["units"] == pytest.approx(SHEET * 0.5 / 1000 / 12)
    hand = replace(MACHINE, dosing="hand", unit_pl=50 * PL_PER_ML, most_at_once_pl=20 * PL_PER_ML)
    assert "measure_over_step" in codes(hand, Use(0, 0))
    assert codes(BathSettings(PL_PER_L, "running water"), Use(1e6, 28)) == ["no_tank"]


def test_everything_that_is_found_can_be_said() -> None:
    from studiodesk.chemistry.words import lead_words
    from studiodesk.chemistry.words.figures import SAID

    said = set()
    tanks = [
        MACHINE,
        replace(MACHINE, silver_ug_per_m2=950_000),
        replace(MACHINE, silver_ug_per_m2=950_000, silver_limit_ug_per_l=2_000_000),
        replace(MACHINE, silver_ug_per_m2=1_950_000, silver_limit_ug_per_l=2_000_000, age_limit_s=86_400),
        replace(MACHINE, rate_ul_per_m2=100_000),
        replace(MACHINE, dosing="hand", most_at_once_pl=1),
        BathSettings(PL_PER_L, "batch"),
        BathSettings(PL_PER_L, "batch", silver_ug_per_m2=1, silver_limit_ug_per_l=5),
        BathSettings(PL_PER_L, "batch", capacity_mm2_per_l=2_000_000),
        BathSettings(PL_PER_L, "batch", capacity_mm2_per_l=2_000_000, age_limit_s=60),
        BathSettings(PL_PER_L, "running water"),
    ]
    for tank in tanks:
        for use in (Use(0, 0), Use(30_000, 30), Use(3e7, 30)):
            for sheet in (None, SHEET):
                for lead in leads_to(tank, use, sheet_mm2=sheet):
                    words = lead_words(lead.code, lead.facts)
                    assert words.endswith(".") and "%(" not in words and "None" not in words
                    said.add(lead.code)
    assert lead_words("water_lost", {"pl": 40 * PL_PER_ML}) == "By the log it loses about 40 mL of water a day."
    assert said | {"water_lost"} == set(SAID)
