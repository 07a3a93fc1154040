"""The incomplete gamma functions and their inverse, in plain Python.  Pure; the standard library alone.

All arguments and answers are plain numbers without a unit.  Sources: NIST Digital Library of Mathematical Functions
(DLMF), chapter 8; M. Abramowitz and I. Stegun, Handbook of Mathematical Functions (A&S), chapter 6; the uniform
expansion for a large a: DLMF §8.12 and N. M. Temme, "On the computation of the incomplete gamma functions for large
values of the parameters" (1987), whose recurrence is derived again beside ``_remainder``.

Relative errors stay under 1e-10 for a from 1e-3 to 1e6 wherever the answer is over 1e-290 (the tests say against
what); an answer too small for a float is 0.
"""

from __future__ import annotations

import math
from fractions import Fraction
from statistics import NormalDist

EPSILON = 2.0**-53
SMALLEST = -745.2  # e to this is the smallest number a float can tell from 0
LARGE = 10.0  # from this a on, Stirling's series and the uniform expansion are good to the last digits
LOW, HIGH = 0.3, 2.36  # x/a between which |η| ≤ 1.01: there the uniform expansion is used
MIDDLE_TERMS = 30  # the series in η converges for |η| < 2√π = 3.54: 3.54⁻³⁰ ≈ 3e-17
MOST_STEPS = 10_000
NORMAL = NormalDist()


def gamma_p(a: float, x: float) -> float:
    """P(a, x) = γ(a, x)/Γ(a): the chance that a gamma variate of shape a and scale 1 is at most x (DLMF 8.2.4).

    a > 0, x ≥ 0 (``math.inf`` too); answers 0 to 1; ``ValueError`` for anything else.
    """
    return _both(a, x)[0]


def gamma_q(a: float, x: float) -> float:
    """Q(a, x) = Γ(a, x)/Γ(a) = 1 − P(a, x), also where P is so near to 1 that the difference would have no digits.

    a > 0, x ≥ 0 (``math.inf`` too); answers 0 to 1; ``ValueError`` for anything else.
    """
    return _both(a, x)[1]


def gamma_quantile(p: float, a: float) -> float:
    """The x at which P(a, x) = p: the quantile of a gamma variate of shape a and scale 1.

    0 ≤ p ≤ 1 and a > 0; p = 0 answers 0, p = 1 ``math.inf``, and an x too small for a float 0; ``ValueError`` for
    anything else.  Halley's method on ln P (or ln Q in the upper half) as a function of u = ln x, kept in a bracket.
    """
    _check_shape(a)
    if not 0.0 <= p <= 1.0:
        raise ValueError(f"a probability lies between 0 and 1, not {p!r}")
    if p == 0.0:
        return 0.0
    if p == 1.0:
        return math.inf
    upper = p > 0.5
    wanted = math.log1p(-p) if upper else math.log(p)
    first_term = (math.log(p) + (_log_gamma_of_one_and(a) if a < 0.5 else math.lgamma(a + 1.0))) / a
    if first_term < -40.0:
        return math.exp(max(first_term, 2 * SMALLEST))  # P = x^a/Γ(a+1)·(1 − x·a/(a+1) …), and x is nothing beside 1
    u = _first_guess(p, a, first_term)
    low, high = -math.inf, math.inf
    for _ in range(100):
        x = math.exp(u)
        at_most, above = _both(a, x)
        reached = above if upper else at_most
        if reached == 0.0:  # so far out that a float holds no chance: back towards the middle
            low, high = (low, u) if upper else (u, high)
            u = _between(low, high, a)
            continue
        off = math.log(reached) - wanted
        if (off > 0) != upper:
            high = u
        else:
            low = u
        slope = a * _front(a, x) / reached  # d ln P/du = x·density/P
        if upper:
            slope = -slope
        if off == 0.0 or slope == 0.0:
            return x
        newton = off / slope
        step = newton / max(0.5, min(2.0, 1 - newton * (a - x - slope) / 2))
        if abs(step) <= 1e-9:  # each step at least squares what is left
            return math.exp(u - step)
        u = u - step if low < u - step < high else _between(low, high, a)
    return math.exp(u)


def _both(a: float, x: float) -> tuple[float, float]:
    """(P, Q), the smaller of the two reckoned and the other one taken from 1 (but for small a, see below)."""
    _check_shape(a)
    if not x >= 0.0:
        raise ValueError(f"the incomplete gamma functions are asked at x ≥ 0, not at {x!r}")
    if x == 0.0:
        return 0.0, 1.0
    if x == math.inf:
        return 1.0, 0.0
    if a >= LARGE:
        if x <= LOW * a:
            at_most = _series(a, x)
            return at_most, 1.0 - at_most
        if x < HIGH * a:
            return _uniform(a, x)
    elif a < 0.5 and x < 2.0:
        # Q is far smaller than P here although x lies low, so 1 − P would lose its digits
        above = _upper_of_small(a, x)
        return (1.0 - above if above < 0.5 else _series(a, x)), above
    elif x < a + 2.0:
        at_most = _series(a, x)
        return at_most, 1.0 - at_most
    above = _continued_fraction(a, x)
    return 1.0 - above, above


def _check_shape(a: float) -> None:
    if not 0.0 < a < math.inf:
        raise ValueError(f"the shape of a gamma distribution is a number over 0, not {a!r}")


def _front(a: float, x: float) -> float:
    """D(a, x) = x^a·e^−x/Γ(a+1), which all the forms below have in front (DLMF 8.7.1, 8.9.2).

    From ``LARGE`` on as e^(−a·½η²)/(√(2πa)·Γ*(a)), because a·ln x, x and ln Γ would cancel most of their digits.
    """
    if a < LARGE:
        power = a * math.log(x) - x - math.lgamma(a + 1.0)
        return math.exp(power) if power > SMALLEST else 0.0
    power = -a * _half_eta_squared(a, x)
    return math.exp(power) / (math.sqrt(2 * math.pi * a) * _gamma_star(a)) if power > SMALLEST else 0.0


def _half_eta_squared(a: float, x: float) -> float:
    """½η² = λ − 1 − ln λ with λ = x/a (DLMF 8.12.1), without cancelling near λ = 1.

    With μ = λ − 1 and s = μ/(2 + μ): ln(1 + μ) = 2·artanh s and μ − 2s = μ·s, so μ − ln(1 + μ) = μ·s − 2·Σ s^k/k
    over the odd k from 3.
    """
    mu = (x - a) / a
    if not -0.3 < mu < 0.4:
        ratio = x / a
        return mu - math.log(ratio) if ratio > 0.0 else math.inf
    s = mu / (2.0 + mu)
    square = s * s
    power, total, k = s * square, 0.0, 3
    while abs(power) > EPSILON * square:  # the answer is about 2·s²
        total += power / k
        power *= square
        k += 2
    return mu * s - 2.0 * total


def _gamma_star(a: float) -> float:
    """Γ*(a) = Γ(a)·e^a·a^(½−a)/√(2π) for a ≥ ``LARGE``, by Stirling's series (A&S 6.1.41, DLMF 5.11.1)."""
    one = 1.0 / a
    two = one * one
    inner = 1 / 1188 - two * (691 / 360360 - two / 156)
    return math.exp(one * (1 / 12 - two * (1 / 360 - two * (1 / 1260 - two * (1 / 1680 - two * inner)))))


def _series(a: float, x: float) -> float:
    """P(a, x) = D·Σ x^n/((a+1)…(a+n)) (DLMF 8.7.1); quick where x is under a + 1."""
    front = _front(a, x)
    if front == 0.0:
        return 0.0
    term = total = 1.0
    below = a
    while term > EPSILON * total:
        below += 1.0
        term *= x / below
        total += term
    return min(1.0, front * total)


def _continued_fraction(a: float, x: float) -> float:
    """Q(a, x) = a·D/(x+1−a− 1·(1−a)/(x+3−a− 2·(2−a)/(x+5−a− …))) (DLMF 8.9.2, contracted), by modified Lentz."""
    front = a * _front(a, x)
    if front == 0.0:
        return 0.0
    tiny = 1e-300
    below = x + 1.0 - a  # over 0: x is over a wherever this is asked
    c, d = 1.0 / tiny, 1.0 / below
    value = d
    for k in range(1, MOST_STEPS):
        above = k * (a - k)
        below += 2.0
        d = above * d + below
        c = below + above / c
        d = 1.0 / (d or tiny)
        c = c or tiny
        change = c * d
        value *= change
        if abs(change - 1.0) <= 2 * EPSILON:
            break
    return min(1.0, front * value)


def _upper_of_small(a: float, x: float) -> float:
    """Q(a, x) for a < ½ and x near or under 1: 1 − x^a/Γ(a+1)·(1 + a·Σ (−x)^n/(n!·(a+n)), n ≥ 1) (DLMF 8.7.1).

    1 − x^a/Γ(a+1) goes by expm1, so that a tiny a keeps its digits.
    """
    power = a * math.log(x) - _log_gamma_of_one_and(a)
    term, total, n = 1.0, 0.0, 0
    while abs(term) > EPSILON * abs(total):
        n += 1
        term *= -x / n
        total += term / (a + n)
    return -math.expm1(power) - math.exp(power) * a * total


def _log_gamma_of_one_and(a: float) -> float:
    """ln Γ(1 + a) for a < ½; for a tiny one by A&S 6.1.33 (DLMF 5.7.3), because 1 + a would drop its digits."""
    if a > 1e-4:
        return math.lgamma(1.0 + a)
    return a * (-0.5772156649015329 + a * (math.pi**2 / 12 - a * 1.2020569031595942 / 3))


def _uniform(a: float, x: float) -> tuple[float, float]:
    """(P, Q) for a ≥ ``LARGE`` and |η| ≤ 1.01: Q = ½·erfc(η·√(a/2)) + R, P = ½·erfc(−η·√(a/2)) − R (DLMF 8.12.3–4)."""
    half = _half_eta_squared(a, x)
    if a * half > -SMALLEST:
        return (1.0, 0.0) if x > a else (0.0, 1.0)
    eta = math.copysign(math.sqrt(2.0 * half), x - a)
    root = math.sqrt(a * half)  # |η|·√(a/2)
    rest = math.exp(-a * half) / math.sqrt(2 * math.pi * a) * _remainder(a, eta)
    if x > a:
        above = max(0.0, 0.5 * math.erfc(root) + rest)
        return 1.0 - above, above
    at_most = max(0.0, 0.5 * math.erfc(root) - rest)
    return at_most, 1.0 - at_most


def _remainder(a: float, eta: float) -> float:
    """S(η) of R = e^(−½aη²)/√(2πa)·S(η).

    dQ/dη = −√(a/2π)·e^(−½aη²)·f(η)/Γ*(a) with f(η) = η/(λ − 1); put into Q = ½·erfc(η√(a/2)) + R this gives
    dS/dη − a·η·S = a·(1 − f/Γ*).  For S = Σ s_n·η^n: s_(n−1) = f_n/Γ* + (n + 1)·s_(n+1)/a, which is taken from the far
    end downwards, where the terms are nothing; Horner's rule adds them up on the way.
    """
    gamma_star = _gamma_star(a)
    after, here = 0.0, 0.0  # s_(n+1) and s_n, in units of 1/Γ*
    total = 0.0
    for n in range(MIDDLE_TERMS, 0, -1):
        before = MIDDLE[n] + (n + 1) * after / a
        total = total * eta + before
        after, here = here, before
    return total / gamma_star


def _middle_terms(count: int) -> list[float]:
    """f_0 … f_count of f(η) = η/(λ − 1), as exact fractions first.

    With μ = λ − 1, ½η² = μ − ln(1 + μ) gives μ·dμ/dη = η·(1 + μ); for μ = Σ m_k·η^k, m_1 = 1, this is
    Σ_(j=1..k) j·m_j·m_(k+1−j) = m_(k−1), solved for m_k; then f is the reciprocal of the series μ/η.
    """
    m = [Fraction(0), Fraction(1)]
    for k in range(2, count + 2):
        known = sum((j * m[j] * m[k + 1 - j] for j in range(2, k)), start=Fraction(0))
        m.append((m[k - 1] - known) / (k + 1))  # j = 1 and j = k both hold m_k
    f = [Fraction(1)]
    for n in range(1, count + 1):
        f.append(-sum((m[j + 1] * f[n - j] for j in range(1, n + 1)), start=Fraction(0)))
    return [float(term) for term in f]


MIDDLE = _middle_terms(MIDDLE_TERMS)


def _first_guess(p: float, a: float, first_term: float) -> float:
    """ln x to begin with: Wilson and Hilferty's cube (A&S 26.4.17), or where x is small what its series begins with.

    P(a, x) ≤ x^a/Γ(a+1), so ``first_term`` is never above the answer.
    """
    if a < LARGE and (first_term < math.log(0.2 * (a + 1.0)) or a < 0.1):
        # for a tiny a and a p near 1, Q ≈ a·E1(x) falls with e^−x: never begin where e^−x has left nothing
        return min(first_term, math.log(40.0))
    ninth = 1.0 / (9.0 * a)
    cube = 1.0 - ninth + NORMAL.inv_cdf(p) * math.sqrt(ninth)
    return math.log(a) + 3.0 * math.log(cube) if cube > 0.1 else first_term


def _between(low: float, high: float, a: float) -> float:
    """A point inside the bracket; where one side is still open, well away from the other."""
    if low == -math.inf:
        return high - max(1.0, 1.0 / a)
    return (low + high) / 2 if high < math.inf else low + 1.0
