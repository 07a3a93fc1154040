"""How far ahead people book, and what a calendar that has just opened can tell of it.  No database.

The curve is held against the self-consistent estimate of right-truncated times (Efron and Petrosian, Journal of the
American Statistical Association 94, 1999; from memory): an iteration over all times at once, with numpy, where the
model multiplies down from the longest.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiodesk.planning.rules.calendar import LEADS, demand, pick_up
from studiodesk.planning.rules.usage import Tuning
from studiodesk.planning.rules.values import Known, Machine, Stay

from .stays import AT, DAY, HOUR, ZONE, stay

EVER = Tuning(half_life_days=1e9)  # every stay counts alike

BOOKED = st.tuples(
    st.floats(-30, 200),  # days since it ended
    st.floats(0.5, 8),  # hours
    st.floats(0, 90),  # days booked ahead
    st.one_of(st.none(), st.floats(0, 1)),  # cancelled, as a share of that time
)


@given(st.lists(BOOKED, max_size=30))
@settings(max_examples=80, deadline=None)
def test_less_stands_in_the_calendar_the_further_ahead_and_nobody_keeps_more_than_everything(rows: list[Any]) -> None:
    stays = []
    for back, hours, lead, cancelled in rows:
        one = stay(1, back, hours, 0)
        made = one.starts - lead * DAY
        stays.append(
            replace(one, made_at=made, cancelled_at=None if cancelled is None else made + cancelled * lead * DAY)
        )
    curve = pick_up(stays, AT)
    leads = [n / 4 for n in range(4 * 130)]
    made = [curve.made(lead) for lead in leads]
    assert all(now >= then - 1e-12 for now, then in pairwise(made))
    assert made[0] == pytest.approx(1) and made[-1] >= 0
    assert all(0 <= curve.keep(lead) <= 1 + 1e-12 for lead in leads)


def test_with_much_to_go_by_the_curve_is_what_people_did() -> None:
    """400 bookings, half made ten days ahead and half one; of the early ones a quarter is cancelled two before."""
    stays = []
    for n in range(400):
        one = stay(n % 9, n % 80, 2, 100_000)
        early = n % 2 == 0
        gone = early and n % 8 == 0
        made = one.starts - (10 if early else 1) * DAY
        stays.append(replace(one, made_at=made, cancelled_at=one.starts - 2 * DAY if gone else None))
    curve = pick_up(stays, AT)
    assert [curve.made(lead) for lead in (0.9, 5)] == pytest.approx([1, 150 / 350], abs=0.05)
    assert curve.made(20) < 0.03
    assert [curve.keep(lead) for lead in (1, 4, 7)] == pytest.approx([1, 0.75, 0.75], abs=0.03)
    assert LEADS[3] == 2.0


# --- a calendar that has just opened ---------------------------------------------------------------------------------

MEAN_LEAD = 12.0  # days


def just_opened(seed: int, days: int, many: int) -> list[Stay]:
    """Of ``many`` stays of 2 h, booked an exponential time ahead, those that could be: it opened ``days`` ago."""
    random = np.random.default_rng(seed)
    starts = AT - 2 * HOUR - random.uniform(0, days, many) * DAY
    leads = random.exponential(MEAN_LEAD, many)
    stays = [
        replace(stay(n % 9, 0, 2, 100_000), starts=at, ends=at + 2 * HOUR, made_at=at - lead * DAY)
        for n, (at, lead) in enumerate(zip(starts, leads, strict=True))
    ]
    return [one for one in stays if one.made_at >= AT - 2 * HOUR - days * DAY]


def self_consistent(leads: np.ndarray, could: np.ndarray) -> np.ndarray:
    """The weight of each lead, sorted, if each was seen only because it was at most ``could``."""
    mass = np.full(len(leads), 1 / len(leads))
    up_to = np.searchsorted(leads, could, side="right")
    for _ in range(400):
        seen = 1 / np.cumsum(mass)[up_to - 1]  # how many stand behind each that was seen
        mass = 1 / np.array([seen[could >= lead].sum() for lead in leads])
        mass /= mass.sum()
    return mass


def test_of_leads_that_could_not_be_seen_yet_the_curve_thinks_as_the_self_consistent_estimate_does() -> None:
    stays = just_opened(20260603, 30, 1500)
    order = sorted(stays, key=lambda one: one.starts - one.made_at)
    leads = np.array([(one.starts - one.made_at) / DAY for one in order])
    opened = min(one.made_at for one in stays)
    below = np.cumsum(self_consistent(leads, np.array([(one.starts - opened) / DAY for one in order])))
    curve = pick_up(stays, AT, EVER)
    for lead in (1, 3, 6, 10, 15, 20):
        expected = below[np.searchsorted(leads, lead) - 1]
        plain = float(np.mean(leads < lead))
        assert 1 - curve.made(lead) == pytest.approx(expected, abs=0.03), lead
        assert expected == pytest.approx(1 - np.exp(-lead / MEAN_LEAD), abs=0.08), lead
        assert plain > expected + (0.03 if lead == 1 else 0.07), lead  # as if all booked late


def test_the_first_weeks_of_a_calendar_are_no_sign_of_little_demand() -> None:
    """Ten stays a day would come; of a day just after it opened, only those stand there that were booked late."""
    days = 14
    stays = just_opened(7, days, 10 * days)
    hours = {AT.astimezone(ZONE).date() - n * DAY: 9.0 for n in range(-121, days + 1)}
    machine = Machine(10, 1, 9, since=AT - days * DAY)
    found = demand(Known(AT, ZONE, hours, 0.0, [machine], stays), machine, 2.0, pick_up(stays, AT), Tuning())
    stand, come = len(stays) * 2 / (days * 9), 10 * 2 / 9
    assert stand < 0.65 * come
    assert found.per_open_hour == pytest.approx(come, rel=0.25)


def test_a_calendar_that_has_long_been_open_is_believed_as_it_stands() -> None:
    stays = just_opened(8, 400, 4000)
    curve = pick_up(stays, AT, EVER)
    for lead in (1, 6, 20):
        plain = float(np.mean([(one.starts - one.made_at) / DAY < lead for one in stays]))
        assert 1 - curve.made(lead) == pytest.approx(plain, abs=0.03)
    assert curve.opened == min(one.made_at for one in stays)
    assert curve.made(60) == pytest.approx(np.exp(-60 / MEAN_LEAD), abs=0.01)
    assert pick_up([], AT).opened is None and pick_up([], AT).made(0) == 1
    assert pick_up([], AT).made(timedelta(days=7) / DAY) == pytest.approx(np.exp(-1))  # LEAD_DAYS: a guess
