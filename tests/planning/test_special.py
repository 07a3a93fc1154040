"""The special functions, against scipy, against tables in print and against sums of 60 digits.

scipy.special (which rests on other forms and other code) serves as the general reference.  In one corner it is not
exact itself: from a ≈ 3e5 on and just under 4.5 standard deviations below a, its series stops after 2,000 terms and
is off by up to 6e-6 of the value (version 1.17).  There a sum of 60 digits in ``decimal`` decides.
"""

import math
from decimal import Decimal, localcontext

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.special import gammainc, gammaincc, gammaincinv

from studiodesk.planning.rules.special import gamma_p, gamma_q, gamma_quantile

SMALLEST_HELD = 1e-290
untimed = settings(deadline=None)


def scipy_stops_early(a, x):
    return a > 2e5 and -12 < (x - a) / math.sqrt(a) < -4.4


def reference_p(a, x):
    return p_by_many_digits(a, x) if scipy_stops_early(a, x) else float(gammainc(a, x))


def assert_agrees(ours, theirs, what):
    assert ours == pytest.approx(theirs, abs=1e-10), what
    if theirs > SMALLEST_HELD:
        assert ours == pytest.approx(theirs, rel=1e-10, abs=0), what
    assert 0 <= ours <= 1


def assert_both_agree(a, x):
    assert_agrees(gamma_q(a, x), float(gammaincc(a, x)), f"Q({a}, {x})")
    assert_agrees(gamma_p(a, x), reference_p(a, x), f"P({a}, {x})")


def p_by_many_digits(a, x):
    """P(a, x) by its series (DLMF 8.7.1), ln Γ(a + 1) by Stirling's series: 60 digits, for a over 1000."""
    with localcontext() as context:
        context.prec = 60
        a, x = Decimal(a), Decimal(x)
        pi = Decimal("3.14159265358979323846264338327950288419716939937510582097494")
        term = total = Decimal(1)
        n = 0
        while term > total * Decimal("1e-30"):
            n += 1
            term *= x / (a + n)
            total += term
        bernoulli = [(12, 1), (-360, 3), (1260, 5), (-1680, 7), (1188, 9)]
        star = sum((1 / (c * a**k) for c, k in bernoulli), start=Decimal(0))
        log_gamma = (a + Decimal("0.5")) * a.ln() - a + (2 * pi).ln() / 2 + star
        return float((a * x.ln() - x - log_gamma).exp() * total)


# --- P and Q -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("a", [10.0 ** (k / 4) for k in range(-12, 25)])
def test_both_agree_with_scipy_from_the_lower_tail_to_the_upper(a):
    # scipy.special.gammainc and gammaincc
    deviations = [
        a + z * math.sqrt(a) for z in (-36, -20, -9, -4, -2, -1, -0.3, -1e-4, 0, 1e-4, 0.3, 1, 2, 4, 9, 20, 36)
    ]
    shares = [a * share for share in (1e-6, 1e-3, 0.05, 0.29, 0.31, 0.7, 1.39, 1.41, 2.35, 2.37, 5, 30)]
    for x in (*deviations, *shares, 1e-9, 1e-3, 0.3, 1.0, 1.99, 2.01, 10.0, 300.0, 700.0):
        if x > 0:
            assert_both_agree(a, x)


@pytest.mark.parametrize("a", [9.999999, 10.0, 10.000001, 0.499999, 0.5, 0.500001])
def test_where_one_form_takes_over_from_another_nothing_jumps(a):
    # scipy.special.gammainc and gammaincc on both sides of every border between forms
    for border in (0.3 * a, 2.36 * a, a + 2, 2.0, 0.7 * a, 1.4 * a):
        for x in (border * (1 - 1e-12), border, border * (1 + 1e-12)):
            assert_both_agree(a, x)


@untimed
@given(st.floats(-3, 6), st.floats(-12, 12))
def test_both_agree_with_scipy_wherever_the_middle_lies(exponent, deviations):
    # scipy.special.gammainc and gammaincc
    a = 10**exponent
    x = a + deviations * math.sqrt(a)
    if x > 0:
        assert_both_agree(a, x)


@untimed
@given(st.floats(-3, 6), st.floats(-8, 7))
def test_both_agree_with_scipy_anywhere(exponent, x_exponent):
    # scipy.special.gammainc and gammaincc
    assert_both_agree(10**exponent, 10**x_exponent)


@pytest.mark.parametrize(("a", "deviations"), [(877_015, -4.53), (960_143, -4.72), (1e6, -6), (3e5, -5), (1e6, -2)])
def test_where_scipy_stops_early_a_sum_of_many_digits_decides(a, deviations):
    x = round(a + deviations * math.sqrt(a), 2)
    assert gamma_p(a, x) == pytest.approx(p_by_many_digits(a, x), rel=1e-11, abs=0)


def test_the_sum_of_many_digits_is_itself_right_where_scipy_is():
    # scipy.special.gammainc
    for a, x in ((5000, 4900), (5000, 5100), (2e4, 1.97e4)):
        assert p_by_many_digits(a, x) == pytest.approx(float(gammainc(a, x)), rel=1e-12)


@pytest.mark.parametrize("n", [1, 2, 5, 20, 60])
def test_a_whole_a_gives_the_sum_of_a_poisson_distribution(n):
    # DLMF 8.4.10: Q(n, x) = e^−x·Σ x^k/k! over k < n
    for x in (0.2, 3.0, 25.0, 90.0):
        terms = [math.exp(k * math.log(x) - x - math.lgamma(k + 1)) for k in range(n)]
        assert gamma_q(n, x) == pytest.approx(math.fsum(terms), rel=1e-12, abs=0)


def test_a_half_gives_the_error_function():
    # DLMF 8.4.1: P(½, x) = erf √x
    for x in (1e-8, 0.01, 0.4, 1.0, 2.0, 2.6, 9.0, 25.0):
        assert gamma_p(0.5, x) == pytest.approx(math.erf(math.sqrt(x)), rel=1e-13, abs=0)
        assert gamma_q(0.5, x) == pytest.approx(math.erfc(math.sqrt(x)), rel=1e-12, abs=0)


@pytest.mark.parametrize(
    ("chi_squared", "degrees", "above"),
    [(3.841, 1, 0.05), (18.307, 10, 0.05), (23.209, 10, 0.01), (43.773, 30, 0.05), (124.342, 100, 0.05)],
)
def test_the_table_of_chi_squared_is_met(chi_squared, degrees, above):
    # NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4, critical values of chi-square (three decimals, from
    # memory); the chance to be over χ² with n degrees of freedom is Q(n/2, χ²/2), A&S 26.4.19
    assert gamma_q(degrees / 2, chi_squared / 2) == pytest.approx(above, rel=1e-3)


@untimed
@given(st.floats(-3, 6), st.floats(-6, 6))
def test_the_two_make_one_and_grow_and_fall_with_x(exponent, deviations):
    a = 10**exponent
    x = abs(a + deviations * math.sqrt(a))
    assert gamma_p(a, x) + gamma_q(a, x) == pytest.approx(1, abs=1e-15)
    further = x + 1e-3 * math.sqrt(a)
    assert gamma_p(a, further) >= gamma_p(a, x)
    assert gamma_q(a, further) <= gamma_q(a, x)


def test_the_ends_are_nothing_and_all():
    for a in (1e-3, 0.4, 3.0, 50.0, 1e6):
        assert (gamma_p(a, 0), gamma_q(a, 0)) == (0, 1)
        assert (gamma_p(a, math.inf), gamma_q(a, math.inf)) == (1, 0)
        assert gamma_q(a, 50 * a + 2000) == 0
    assert gamma_p(1e6, 1e-300) == gamma_p(50.0, 1e-300) == gamma_p(9.0, 1e-300) == 0


def test_a_tiny_shape_keeps_the_digits_of_q():
    # Q(a, x) → a·E1(x) as a → 0 (DLMF 8.4.4, 8.4.15); E1(1) = 0.219383934395520 (A&S table 5.1)
    for a in (1e-5, 1e-8, 1e-12):
        assert gamma_q(a, 1.0) == pytest.approx(a * 0.219383934395520, rel=2 * a + 1e-11, abs=0)


@pytest.mark.parametrize(
    ("a", "x", "word"),
    [
        (0, 1, "shape"),
        (-1, 1, "shape"),
        (math.nan, 1, "shape"),
        (math.inf, 1, "shape"),
        (1, -0.1, "x ≥ 0"),
        (1, math.nan, "x ≥ 0"),
    ],
)
def test_what_has_no_meaning_is_refused_with_a_sentence(a, x, word):
    for function in (gamma_p, gamma_q):
        with pytest.raises(ValueError, match=word):
            function(a, x)


# --- the inverse ---------------------------------------------------------------------------------------------------

CHANCES = [1e-6, 1e-4, 0.01, 0.1, 0.3, 0.49, 0.5, 0.51, 0.7, 0.9, 0.99, 1 - 1e-4, 1 - 1e-6]


def assert_quantile_agrees(p, a):
    ours, theirs = gamma_quantile(p, a), float(gammaincinv(a, p))
    if theirs > SMALLEST_HELD:
        if not scipy_stops_early(a, theirs):
            assert ours == pytest.approx(theirs, rel=1e-9, abs=0), (p, a)
    else:
        assert ours <= SMALLEST_HELD * 1.001, (p, a)


@pytest.mark.parametrize("a", [10.0 ** (k / 6) for k in range(-18, 37)])
def test_quantiles_agree_with_scipy(a):
    # scipy.special.gammaincinv
    for p in CHANCES:
        assert_quantile_agrees(p, a)


@untimed
@given(st.floats(-3, 6), st.floats(1e-6, 1 - 1e-6))
@example(exponent=-3, p=0.999999)
@example(exponent=-3, p=0.5)
def test_quantiles_agree_with_scipy_anywhere(exponent, p):
    # scipy.special.gammaincinv
    assert_quantile_agrees(p, 10**exponent)


@untimed
@given(st.floats(-5, 8), st.floats(-280, 0))
def test_a_quantile_is_where_that_much_lies_below(exponent, p_exponent):
    a, p = 10**exponent, 10**p_exponent
    x = gamma_quantile(p, a)
    if p < 1 and x > 1e-300:
        assert gamma_p(a, x) == pytest.approx(p, rel=1e-9, abs=0)


def test_half_of_a_waiting_time_lies_under_its_half_life():
    # a = 1 is the exponential distribution: −ln(1 − p)
    for p in (1e-6, 0.1, 0.5, 0.9, 1 - 1e-6):
        assert gamma_quantile(p, 1.0) == pytest.approx(-math.log1p(-p), rel=1e-12, abs=0)


def test_a_quantile_too_small_for_a_float_is_nothing():
    assert gamma_quantile(1e-6, 1e-3) == 0  # about 10^−6000
    assert gamma_quantile(0.2, 1e-3) == 0
    assert 0 < gamma_quantile(0.6, 1e-3) < 1e-200


def test_quantiles_end_at_nothing_and_at_no_end():
    assert gamma_quantile(0, 3.0) == 0
    assert gamma_quantile(1, 3.0) == math.inf


@pytest.mark.parametrize(
    ("p", "a", "word"),
    [(-0.1, 1, "probability"), (1.1, 1, "probability"), (math.nan, 1, "probability"), (0.5, 0, "shape")],
)
def test_a_quantile_of_nonsense_is_refused_with_a_sentence(p, a, word):
    with pytest.raises(ValueError, match=word):
        gamma_quantile(p, a)
