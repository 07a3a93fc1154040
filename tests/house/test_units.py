"""Conversions against their definitions.

Sources: the inch is 25.4 mm exactly (international yard and pound agreement of 1959; NIST Handbook 44, appendix C);
the US gallon is 231 cubic inches and the fluid ounce a 128th of it (NIST Handbook 44, appendix C).
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from studiodesk import units


def test_the_factors_are_those_of_a_general_reference_library() -> None:
    assert float(units.MM_PER_INCH) / 1000 == constants.inch
    assert float(units.MM2_PER_FT2) / 1e6 == pytest.approx(constants.foot**2, rel=1e-15)
    assert float(units.ML_PER_US_GALLON) / 1e6 == pytest.approx(constants.gallon, rel=1e-15)
    assert float(units.ML_PER_US_FLUID_OUNCE) / 1e6 == pytest.approx(constants.fluid_ounce, rel=1e-15)


def test_a_rate_per_square_foot_becomes_one_per_square_metre_rounded_once() -> None:
    # 1 mL/ft² = 10.7639104 mL/m² (the reciprocal of 0.09290304 m², exact by the definitions above).
    assert units.ul_per_m2_from_ml_per_ft2(1) == 10_764
    assert units.ul_per_m2_from_ml_per_ft2(15) == 161_459
    assert units.ul_per_m2_from_ml_per_m2("161.5") == 161_500


@given(st.integers(1, 2000), st.integers(1, 2000), st.integers(1, 10_000), st.integers(0, 5_000_000))
def test_what_sheets_ask_is_an_exact_integer_that_fits_the_column(w: int, h: int, n: int, rate: int) -> None:
    exact = Fraction(w * h * n, 10**6) * Fraction(rate, 10**6) * 10**12  # m² × L/m² in pL
    assert units.due_pl(units.area_mm2(w, h, n), rate) == exact
    assert units.PL_PER_L * 9_000_000 < 2**63  # 9 000 m³


@pytest.mark.parametrize("text", ["NaN", "inf", "-Infinity", "1e", "", "twelve", "1,5"])
def test_what_is_not_a_finite_number_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="number"):
        units.decimal_of(text)


@pytest.mark.parametrize(
    "pl,nl", [(240_000, 240), (0, 0), (8_301_482_500, 8_301_482.5), (1, 0.001), (-500, -0.5), (-1000, -1)]
)
def test_nanolitres_have_decimals_only_where_the_rate_has_them(pl: int, nl: float) -> None:
    assert units.nl_number(pl) == nl
    assert isinstance(units.nl_number(pl), int) is (pl % 1000 == 0)


def test_money_is_kept_in_the_smallest_coin() -> None:
    assert units.minor_from_major("41.0") == 4100
    assert units.minor_from_major(4.2) == 420
    assert units.minor_from_major("300", digits=0) == 300
    assert units.decimal_of(0.1) == Decimal("0.1")
