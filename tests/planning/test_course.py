"""What a course holds: no more than the places, its own sessions, idle days with their variance.  No database."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest

from studiodesk.planning.rules.course import courses, shape
from studiodesk.planning.rules.values import Course, Known, Loose, Machine, Stay

from .stays import AT, DAY, ZONE, stay

OPEN_H = 9.0
TODAY = AT.astimezone(ZONE).date()


def known(*stays: Stay, machines: list[Machine] | None = None, loose: tuple[Loose, ...] = (), places: int = 1) -> Known:
    hours = {TODAY + n * DAY: OPEN_H if (TODAY + n * DAY).weekday() else 0.0 for n in range(-210, 121)}
    machines = machines or [Machine(10, 1, places, since=AT - 70 * DAY)]
    return Known(AT, ZONE, hours, 0.0, machines, stays, loose)


def busy(hours_a_day: float = 12.0) -> list[Stay]:
    """Ten weeks, each day but Monday one stay, all of one member, booked the evening before."""
    days = [n for n in range(1, 71) if (TODAY - n * DAY).weekday()]
    stays = [stay(1, n - 0.8, hours_a_day, round(hours_a_day * 100_000)) for n in days]
    return [Stay(s.member, 1, 10, s.starts, s.ends, s.starts - 0.5 * DAY, None, s.fed) for s in stays if s.ends <= AT]


def on(of: Course, day: date) -> float:
    return of.by_day[(day - of.first_day).days]


def test_no_more_is_foretold_than_the_places_hold() -> None:
    """Twelve hours a day were booked at one place, by a calendar that once was open for longer: nine are left."""
    one, two = (courses(known(*busy(), places=places))[10] for places in (1, 2))
    far = [TODAY + n * DAY for n in range(30, 120) if (TODAY + n * DAY).weekday()]
    rate = 100_000
    assert all(on(one, day) <= OPEN_H * rate * 1.05 for day in far)
    assert all(on(two, day) > 11 * rate for day in far)


def test_a_day_that_is_full_brings_what_stands_there_and_no_more() -> None:
    past, n = busy(6.0), 9
    day = TODAY + n * DAY
    plain = courses(known(*past))[10]
    seen = {}
    for hours in (3.0, 9.0, 12.0):
        full = Stay(1, 1, 10, AT + (n + 0.2) * DAY, AT + (n + 0.2) * DAY + hours * DAY / 24, AT - DAY)
        found = courses(known(*past, full))[10]
        seen[hours] = on(found, day)
        assert on(found, day + DAY) == pytest.approx(on(plain, day + DAY), rel=1e-9)
    # three hours leave room for all that is still expected, nine for nothing; twelve are only more of the same
    assert seen[9.0] - seen[3.0] < 4 / 9 * seen[9.0]
    assert seen[12.0] / seen[9.0] == pytest.approx(12 / 9, rel=1e-6)


def test_a_processor_rests_on_the_sessions_that_were_booked_or_fed_there() -> None:
    machines = [Machine(10, 1, 2, since=AT - 70 * DAY), Machine(11, 1, 2, since=AT - 70 * DAY)]
    at_ten = [stay(n % 3, n, 2, 300_000) for n in range(1, 41)]
    gone_over = [stay(n % 3, n, 2, 0, fed={11: 300_000}) for n in range(1, 6)]
    no_show = [stay(n % 3, n + 0.5, 2, 0, processor=11) for n in range(1, 4)]
    found = courses(known(*at_ten, *gone_over, *no_show, machines=machines))
    assert {pk: one.sessions for pk, one in found.items()} == {10: 45, 11: 8}


def test_the_shape_widens_by_half_without_a_session_and_by_less_with_each() -> None:
    """1 + ½·12/(12 + n)."""
    assert [shape(n) for n in (0, 12, 36, 10**9)] == pytest.approx([1.5, 1.25, 1.125, 1.0])


def test_what_every_open_hour_brings_alike_is_no_scatter() -> None:
    """Four walk-in sheets each open day: ten weeks of it, and none on Mondays, leave little to be unsure of."""
    sheets = 4 * 203 * 254
    days = [n for n in range(1, 71) if (TODAY - n * DAY).weekday()]
    even = courses(known(loose=tuple(Loose(10, AT - n * DAY + DAY / 2, sheets) for n in days)))[10]
    odd = courses(known(loose=tuple(Loose(10, AT - n * DAY + DAY / 2, 6 * sheets) for n in days[::6])))[10]
    none = courses(known())[10]
    spread = [(one.variance[28] - none.variance[28]) ** 0.5 / one.mean[28] for one in (even, odd)]
    assert spread[0] < 0.05 < 0.15 < spread[1]


def test_idle_days_vary_as_so_many_coins_do() -> None:
    """A day is without a sheet or it is not: p·(1 − p) each, as in a binomial."""
    found = courses(known(*busy(2.0)))[10]
    chances = [now - then for then, now in pairwise([0.0, *found.idle_days])]
    steps = [now - then for then, now in pairwise([0.0, *found.idle_variance])]
    assert steps == pytest.approx([p * (1 - p) for p in chances], abs=1e-9)
    assert found.idle_variance[-1] > 0.1 and len(found.idle_variance) == len(found.mean)
