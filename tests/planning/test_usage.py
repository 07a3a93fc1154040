"""How much is printed: the credibility sums, and the course that they add up to.  No database.

The credibility of members and process is that of Bühlmann and Straub (Bühlmann and Gisler, A Course in Credibility
Theory, Springer 2005, chapter 4), with one level above (chapter 6).  It is held against an example worked by hand here
and against the posterior of the Gaussian model that has the same first two moments, for which the best linear
estimate is exact (same book, section 3.2): numpy solves that with matrices, not with weights.
"""

from __future__ import annotations

from datetime import date
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiodesk.planning.rules.calendar import pick_up
from studiodesk.planning.rules.course import courses, shape
from studiodesk.planning.rules.usage import (
    C2,
    GUESS_CV2,
    GUESS_HOURS,
    GUESS_MM2_PER_H,
    T2,
    TAU,
    Tuning,
    Usage,
    usages,
    weight,
)
from studiodesk.planning.rules.values import HORIZON_DAYS, Course, Known, Machine, Planned, Stay

from .stays import AT, DAY, ZONE, stay


def usage(*stays: Stay, tuning: Tuning | None = None) -> Usage:
    return usages(stays, [1], AT, *([tuning] if tuning else []))[1]


# --- credibility -----------------------------------------------------------------------------------------------------


def test_the_sums_of_an_example_worked_by_hand() -> None:
    """Two members, three sessions of 3 h that end at the very moment, so that each counts whole.

    h̄ = (9 + 3)/(3 + 1) = 3; all in all 1.2 m² in 9 h, 133 333 mm²/h; own rates 150 000 and 100 000.
    Within: 2·150 000²/3 = 1.5e10, over mean²·h̄ 0.28125, one free: c2 = (7.2 + 0.28125)/13 = 0.575481.
    Between: 6·16 667² + 3·33 333² = 5e9, over mean² 0.28125; 9 − 45/9 = 4; found (0.28125 − 3·0.575481)/4 =
    −0.361298; t2 = (2.8 − 0.361298)/9 = 0.270967.
    Weights 1/(0.270967 + 0.575481·3/6) = 1.789843, 1/(0.270967 + 0.575481) = 1.181407, prior 1/0.64 = 1.5625.
    μ̂ = (1.5625·120 000 + 1.789843·150 000 + 1.181407·100 000)/4.533750 = 126 632; Z = 0.484989, 0.320122.
    """
    found = usage(stay(1, 0, 3, 300_000), stay(1, 0, 3, 600_000), stay(2, 0, 3, 300_000))
    assert found.mean_hours == 3
    assert found.c2 == pytest.approx(0.575481, abs=1e-6)
    assert found.t2 == pytest.approx(0.270967, abs=1e-6)
    assert found.mu == pytest.approx(126_632, abs=1)
    assert found.cv2 == pytest.approx(1 / 4.533750, rel=1e-5)
    assert [found.of(member).own for member in (1, 2)] == pytest.approx([0.484989, 0.320122], abs=1e-5)
    assert found.of(1).mm2_per_h == pytest.approx(0.484989 * 150_000 + 0.515011 * 126_632, abs=2)
    assert found.of(3) == (stranger := found.of(4)) and (stranger.mm2_per_h, stranger.own) == (found.mu, 0)


def drawn(seed: int, members: int, processes: int = 1) -> list[Stay]:
    random = np.random.default_rng(seed)
    out = []
    for process in range(1, processes + 1):
        rates = random.gamma(3, 50_000, members)
        for member, rate in enumerate(rates):
            for _ in range(int(random.integers(1, 9))):
                hours = float(random.integers(1, 5))
                area = int(random.gamma(2, rate * hours / 2)) if random.random() < 0.8 else 0
                out.append(stay(member, float(random.uniform(0, 150)), hours, area, process))
    return out


def posterior(stays: list[Stay], found: Usage, m0: float, p0: float) -> tuple[Any, Any, Any]:
    """Mean and covariance of (process, members) given what each printed: a joint Gaussian, conditioned on.

    In units of the process's mean squared: process variance 1/p0, members t2, a member's weighted rate c2·h̄/H.
    """
    members = sorted({one.member for one in stays})
    counts = {id(one): 0.5 ** ((AT - one.ends).total_seconds() / (30 * 86_400)) for one in stays}
    hours = np.array([sum(counts[id(s)] * s.hours for s in stays if s.member == m) for m in members])
    areas = np.array([sum(counts[id(s)] * s.area_mm2 for s in stays if s.member == m) for m in members])
    n = len(members)
    prior = np.full((n + 1, n + 1), 1 / p0) + np.diag([0.0] + [found.t2] * n)
    seen = np.hstack([np.zeros((n, 1)), np.eye(n)])
    noise = np.diag(found.c2 * found.mean_hours / hours)
    gain = prior @ seen.T @ np.linalg.inv(seen @ prior @ seen.T + noise)
    mean = np.full(n + 1, m0) + gain @ (areas / hours - m0)
    return members, mean, prior - gain @ seen @ prior


@pytest.mark.parametrize("seed", range(5))
def test_the_rates_are_the_best_linear_estimate_given_what_everybody_printed(seed: int) -> None:
    stays = drawn(seed, members=2 + 4 * seed)
    found = usage(*stays)
    members, mean, spread = posterior(stays, found, GUESS_MM2_PER_H, 1 / GUESS_CV2)
    assert found.mu == pytest.approx(mean[0], rel=1e-9)
    # A μ̂ under m0 makes it no surer than m0 would.
    assert found.cv2 == pytest.approx(spread[0, 0] * max(1, GUESS_MM2_PER_H / mean[0]), rel=1e-9)
    assert [found.of(member).mm2_per_h for member in members] == pytest.approx(list(mean[1:]), rel=1e-9)


def test_a_new_process_is_believed_from_the_mean_of_the_others() -> None:
    """m0 is the mean of the others' rates, its variance (τ·m0)²·(1 + 1/J)."""
    stays = drawn(11, members=6, processes=3)
    found = usages(stays, [1, 2, 3, 4], AT)
    totals = []
    for process in (1, 2, 3):
        own = [one for one in stays if one.process == process]
        counts = [weight((AT - one.ends).total_seconds()) for one in own]
        hours = sum(c * s.hours for c, s in zip(counts, own, strict=True))
        totals.append(sum(c * s.area_mm2 for c, s in zip(counts, own, strict=True)) / hours)
    assert found[4].mu == pytest.approx(np.mean(totals))
    assert found[4].cv2 == pytest.approx(TAU**2 * (1 + 1 / 3))
    assert (found[4].c2, found[4].t2) == (C2, T2)
    without_the_first = [one for one in stays if one.process == 1]
    _, mean, spread = posterior(without_the_first, found[1], m0 := float(np.mean(totals[1:])), 1 / (TAU**2 * 1.5))
    assert (found[1].mu, found[1].cv2) == (pytest.approx(mean[0]), pytest.approx(spread[0, 0] * max(1, m0 / mean[0])))


@given(st.floats(0, 400), st.floats(0.5, 90))
def test_what_is_past_loses_half_of_its_weight_in_each_half_life(days: float, half_life: float) -> None:
    tuning = Tuning(half_life_days=half_life)
    now, later = weight(days * 86_400, tuning), weight((days + half_life) * 86_400, tuning)
    assert later == pytest.approx(now / 2)
    assert weight(0, tuning) == weight(-5, tuning) == 1


def test_an_old_evening_counts_as_half_an_evening() -> None:
    """Two evenings a half-life ago weigh in μ̂ as one of today does; only the shape looks at both."""
    old = usage(stay(1, 30, 4, 800_000), stay(1, 30, 4, 800_000))
    new = usage(stay(1, 0, 4, 800_000))
    for found, hours in ((old, 4), (new, 4)):
        assert found.of(1).own == pytest.approx(found.t2 / (found.t2 + found.c2 * found.mean_hours / hours))


def test_no_shows_count_cancelled_stays_and_those_not_over_do_not() -> None:
    came = usage(stay(1, 1, 3, 600_000))
    assert usage(stay(1, 1, 3, 600_000), stay(1, 2, 3, 0)).of(1).mm2_per_h < came.of(1).mm2_per_h
    cancelled = stay(1, 2, 3, 0, cancelled_at=AT - 3 * DAY)
    assert usage(stay(1, 1, 3, 600_000), cancelled, stay(1, -1, 3, 0)) == came


@given(
    st.lists(st.tuples(st.integers(0, 4), st.floats(0, 200), st.floats(0.5, 6), st.integers(0, 3_000_000)), max_size=25)
)
@settings(max_examples=60, deadline=None)
def test_whatever_happened_a_rate_lies_between_the_member_s_own_and_the_process_s(rows: list[Any]) -> None:
    found = usage(*(stay(member, back, hours, area) for member, back, hours, area in rows))
    assert found.mu > 0 and 0 < found.cv2 <= GUESS_CV2 + 1e-9 and found.c2 > 0 and found.t2 > 0
    for member, rate in found.rates.items():
        own = [(weight(back * 86_400) * h, weight(back * 86_400) * a) for m, back, h, a in rows if m == member]
        alone = sum(a for _, a in own) / sum(h for h, _ in own)
        assert min(alone, found.mu) - 1e-6 <= rate.mm2_per_h <= max(alone, found.mu) + 1e-6
        assert 0 < rate.own < 1


# --- the course ------------------------------------------------------------------------------------------------------


def known(*stays: Stay, planned: tuple[Planned, ...] = (), **more: Any) -> Known:
    first = date(2025, 11, 5)
    hours = {
        first + n * DAY: 9.0 if (first + n * DAY).weekday() else 0.0 for n in range((AT.date() - first).days + 121)
    }
    machine = Machine(10, 1, 3, since=AT - 150 * DAY)
    return Known(AT, ZONE, hours, 0.0, [machine], stays, planned=planned, **more)


def course(*stays: Stay, widened: float = 1.0, **more: Any) -> Course:
    return courses(known(*stays, **more), widened={10: widened})[10]


ROWS = st.lists(
    st.tuples(st.integers(0, 4), st.floats(-60, 150), st.floats(0.5, 6), st.integers(0, 2_000_000)), max_size=30
)


@given(ROWS)
@settings(max_examples=25, deadline=None)
def test_area_only_grows_and_so_does_what_is_not_known_of_it(rows: list[Any]) -> None:
    """More days never make the sum more certain: both columns are sums."""
    found = course(*(stay(member, back, hours, area if back > 0 else 0) for member, back, hours, area in rows))
    assert len(found.mean) == len(found.variance) == HORIZON_DAYS + 1
    assert all(later >= before - 1e-6 for before, later in pairwise(found.mean))
    assert all(variance >= 0 for variance in found.variance)
    assert all(v >= u * (1 - 1e-12) for u, v in pairwise(found.variance))
    assert all(-1e-9 <= now - then <= 1 + 1e-9 for then, now in pairwise(found.idle_days))


def test_widening_multiplies_the_variance_and_leaves_the_mean() -> None:
    stays = [*drawn(3, members=5), stay(1, -9, 3, 0)]
    plain, wide = course(*stays), course(*stays, widened=2.5)
    assert wide.mean == plain.mean
    assert wide.variance == pytest.approx([2.5 * one for one in plain.variance], rel=1e-12)


def test_what_is_planned_besides_is_added_on_its_day_with_its_own_variance() -> None:
    stays = drawn(3, members=5)
    at = AT + 12 * DAY
    class_of_six = (Planned(10, at, 2_000_000.0, 9e11), Planned(99, at, 7.0, 7.0), Planned(10, at - 40 * DAY, 5.0, 5.0))
    plain, more = course(*stays, widened=2.0), course(*stays, widened=2.0, planned=class_of_six)
    mean = [a - b for a, b in zip(more.mean, plain.mean, strict=True)]
    variance = [a - b for a, b in zip(more.variance, plain.variance, strict=True)]
    assert mean == pytest.approx([0.0] * 12 + [2_000_000.0] * 109, abs=1e-3)
    assert variance == pytest.approx([0.0] * 12 + [9e11] * 109, abs=1e3)


def test_bookings_ahead_bring_the_variance_of_the_posterior_and_of_their_sessions() -> None:
    """Bookings of members (one comes twice) and of a stranger: planning.md's V against the posterior's covariance."""
    past = drawn(5, members=4)
    ahead = [stay(0, -5, 4, 0), stay(1, -5, 2, 0), stay(77, -5, 3, 0), stay(0, -6, 4, 0)]
    with_them, without = course(*past, *ahead), course(*past)
    found = usage(*past)
    members, _, spread = posterior(past, found, GUESS_MM2_PER_H, 1 / GUESS_CV2)
    n = len(members)
    # the stranger is a member of whom nothing is known
    whole = np.zeros((n + 1, n + 1))
    whole[:n, :n], whole[n, n] = spread[1:, 1:], spread[0, 0] + found.t2
    whole[n, :n] = whole[:n, n] = spread[0, 1:]
    rates = np.array([found.of(one.member).mm2_per_h for one in ahead])
    curve, length = pick_up([*past, *ahead], AT), np.array([one.hours for one in ahead])
    kept = np.array([curve.keep((one.starts - AT) / DAY) for one in ahead])
    hours = np.zeros(n + 1)
    for one, amount in zip(ahead, kept * length, strict=True):
        hours[members.index(one.member) if one.member in members else n] += amount
    # what all share is μ̂ itself, the rest is the members' own
    shared = hours @ np.append(spread[0, 1:], spread[0, 0]) / spread[0, 0] * found.mu
    own = hours @ whole @ hours * found.mu**2 - shared**2 * spread[0, 0]
    sessions = found.c2 * found.mean_hours * found.mu * float(np.sum(kept * length * (rates + found.mu))) / 2
    chance = float(np.sum(kept * (1 - kept) * (rates * length) ** 2))
    day = 10
    added = with_them.variance[day] - without.variance[day]
    assert with_them.mean[day] - without.mean[day] == pytest.approx(float(np.sum(kept * length * rates)), rel=1e-9)
    # booked and unbooked hours are wrong together as far as those, too, rest on μ̂
    gone = [sum(weight((AT - s.ends) / (DAY / 86_400)) * s.hours for s in past if s.member == m) for m in members]
    on_mu = (np.array(gone) @ spread[0, 1:] / spread[0, 0] + GUESS_HOURS) / (sum(gone) + GUESS_HOURS)
    together = 2 * shared * on_mu * without.mean[day] * found.cv2
    expected = shape(len(past)) * ((own + sessions) * (1 + found.cv2) + shared**2 * found.cv2 + together) + chance
    assert added == pytest.approx(expected, rel=1e-6)
