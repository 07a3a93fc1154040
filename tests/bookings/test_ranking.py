"""The best times among many: against a brute force that looks at all of them, and the reasons one by one."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import combinations
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.answers import Refusal
from studiodesk.bookings.rules import ranking
from studiodesk.bookings.rules.free_times import Offer
from studiodesk.bookings.rules.needs import Need, Traits
from studiodesk.bookings.rules.ranking import Around, Chance, choose, reasons_for, score, starts_of
from studiodesk.timekeeping import Span

ZONE = ZoneInfo("Europe/Amsterdam")
HOUR = timedelta(hours=1)
NOON = datetime(2026, 11, 26, 12, tzinfo=UTC)  # Thursday, 13:00 in Amsterdam
NO = Refusal("bookings.paused")


def chance(station: str = "E1", day: int = 0, hour: float = 0, hours: float = 2, *reasons: str) -> Chance:
    starts = NOON + timedelta(days=day) + hour * HOUR
    return Chance(station, starts, starts + hours * HOUR, starts, 1, "", reasons)


def day_of(one: Chance) -> date:
    return one.starts.astimezone(ZONE).date()


def clash(one: Chance, other: Chance) -> bool:
    return one.station == other.station and one.starts < other.ends and other.starts < one.ends


codes = st.sets(st.sampled_from([code for code, weight in ranking.WEIGHTS.items() if weight and code != "soonest"]))
chances = st.builds(
    lambda station, day, hour, reasons: chance(station, day, hour, 2, *sorted(reasons)),
    st.sampled_from(["E1", "E2", "E3"]),
    st.integers(0, 4),
    st.integers(0, 8),
    codes,
)
many_chances = st.lists(chances, max_size=40, unique_by=lambda one: (one.station, one.starts))


@given(many_chances, st.sets(st.tuples(st.sampled_from(["E1", "E2", "E3"]), st.integers(0, 4))), st.integers(1, 10))
def test_what_is_shown_may_be_had_is_spread_and_leaves_no_room_for_more(
    many: list[Chance], barred: set[tuple[str, int]], most: int
) -> None:
    def refused(one: Chance) -> Refusal | None:
        return NO if (one.station, (day_of(one) - day_of(chance())).days) in barred else None

    found = choose(many, ZONE, refused, most)
    may = [one for one in many if refused(one) is None]
    shown = [one.chance for one in found]
    assert len(found) <= most
    assert all(not clash(a, b) for a, b in combinations(shown, 2))
    if not may:
        assert all(one.refusal is NO for one in found)
        assert bool(found) == bool(many)
        return
    assert all(one.refusal is None and one.chance in may for one in found)
    assert len(found) >= 1
    days = [day_of(one) for one in shown]
    left = [one for one in may if one not in shown and not any(clash(one, other) for other in shown)]
    if len(found) < most:
        assert left == [], "there was room for one more"
    if max(days.count(day) for day in days) > ranking.A_DAY:
        assert not any(days.count(day_of(one)) < ranking.A_DAY for one in left), "a day went short for another"


@given(many_chances)
def test_the_soonest_is_always_shown_and_the_best_of_what_it_leaves(many: list[Chance]) -> None:
    if not many:
        return
    shown = [one.chance for one in choose(many, ZONE)]
    assert shown[0].starts == min(one.starts for one in many)
    left = [one for one in many if one is not shown[0] and not clash(one, shown[0])]
    if left:
        worth = {id(one): score(one, day_of(shown[0]), ZONE) for one in many}
        again = {id(one): (one.station == shown[0].station) + 2 * (day_of(one) == day_of(shown[0])) for one in many}
        assert worth[id(shown[1])] - again[id(shown[1])] == max(worth[id(one)] - again[id(one)] for one in left)


def test_ten_starts_of_one_evening_are_not_ten_offers() -> None:
    evening = [chance("E1", 0, hour / 4) for hour in range(20)]
    found = choose([*evening, chance("E2", 1), chance("E2", 2)], ZONE)
    assert [(one.chance.station, day_of(one.chance).day) for one in found] == [
        ("E1", 26),
        ("E2", 27),
        ("E2", 28),
        ("E1", 26),
        ("E1", 26),
    ]


def test_of_two_alike_another_station_is_shown_before_the_same_again() -> None:
    found = choose([chance("E1", 0), chance("E1", 1), chance("E2", 1)], ZONE, most=2)
    assert [one.chance.station for one in found] == ["E1", "E2"]


def test_two_to_four_reasons_are_said_and_the_weightiest_are_among_them() -> None:
    lonely = choose([chance()], ZONE)[0]
    assert lonely.reasons == ("soonest", "all_asked")
    rich = chance("E1", 0, 0, 2, "light_source", "takes", "prints", "usual_day", "warm", "same_light", "longer")
    assert choose([rich], ZONE)[0].reasons == ("light_source", "usual_day", "warm", "same_light")
    helped = replace(rich, reasons=("supervised", *rich.reasons))
    assert choose([helped], ZONE)[0].reasons == ("supervised", "usual_day", "warm", "same_light")


def test_starts_of_a_run_are_its_ends_and_the_whole_hours_between() -> None:
    run = Offer(1, None, NOON + HOUR / 4, NOON + 2.25 * HOUR, 2 * HOUR)
    assert [(at - NOON) / HOUR for at in starts_of(run, ZONE)] == [0.25, 1, 2, 2.25]
    assert list(starts_of(replace(run, last=run.first), ZONE)) == [run.first]


def test_a_run_is_cut_to_the_hours_that_suit_and_stays_on_its_grid() -> None:
    run = Offer(1, None, NOON, NOON + 4 * HOUR, HOUR)
    (cut,) = ranking.clipped([run], Span(NOON, NOON + 2.4 * HOUR), HOUR / 4)
    assert cut.last == NOON + 1.25 * HOUR
    assert list(ranking.clipped([run], Span(NOON, NOON + HOUR / 2), HOUR / 4)) == []
    assert list(ranking.clipped([run], Span(NOON + HOUR, NOON + 3 * HOUR), HOUR / 4)) == []


CUBICLE = Traits("E1", "enlarger booth", processes=frozenset({"rc"}))
SHARED = replace(CUBICLE, zone="shared room")
RC = Need(process="rc")
OPEN = [Span(NOON - HOUR, NOON + 9 * HOUR)]


@pytest.mark.parametrize(
    ("has", "need", "around", "last", "expected"),
    [
        (CUBICLE, RC, {}, 0, {"own_light", "quiet"}),
        (SHARED, RC, {}, 0, {"quiet"}),
        (SHARED, RC, {"lit": {"shared room": [Span(NOON, NOON + HOUR)]}}, 0, {"same_light", "quiet"}),
        (SHARED, RC, {"lit": {"other room": [Span(NOON, NOON + HOUR)]}}, 0, {"quiet"}),
        (SHARED, RC, {"lit": {"shared room": [Span(NOON - HOUR, NOON)]}}, 0, {"quiet"}),
        (SHARED, RC, {"inside": [Span(NOON, NOON + HOUR)] * 3}, 0, set()),
        (SHARED, RC, {"opened": OPEN, "warm_up": {1: HOUR}}, 0, {"ready", "quiet"}),
        (SHARED, RC, {"opened": OPEN, "warm_up": {1: 1.5 * HOUR}}, 0, {"quiet"}),
        (SHARED, RC, {"heated": {1: [Span(NOON - 2 * HOUR, NOON)]}}, 0, {"warm", "quiet"}),
        (SHARED, RC, {"heated": {1: [Span(NOON - 4 * HOUR, NOON - 2 * HOUR)]}}, 0, {"quiet"}),
        (SHARED, RC, {"heated": {2: [Span(NOON - 2 * HOUR, NOON)]}}, 0, {"quiet"}),
        (SHARED, RC, {"usual_days": frozenset({3})}, 0, {"usual_day", "quiet"}),
        (SHARED, RC, {"usual_days": frozenset({4})}, 0, {"quiet"}),
        (SHARED, RC, {}, 1, {"longer", "quiet"}),
        (SHARED, RC, {}, 0.75, {"quiet"}),
        (SHARED, RC, {"supervised": [Span(NOON, NOON + 2 * HOUR)]}, 0, {"supervised", "quiet"}),
        (SHARED, RC, {"supervised": [Span(NOON, NOON + HOUR)]}, 0, {"quiet"}),
        (
            replace(SHARED, step_free=True, light_source="condenser"),
            replace(RC, light_source="condenser", step_free=True, negative="35 mm", print_mm=(200, 250)),
            {},
            0,
            {"light_source", "step_free", "takes", "prints", "quiet"},
        ),
        (Traits("S1", "scanner"), Need(kind="scanner"), {"warm_up": {0: HOUR}, "opened": OPEN}, 0, {"quiet"}),
    ],
)
def test_each_reason_is_said_where_it_is_so_and_nowhere_else(
    has: Traits, need: Need, around: dict[str, object], last: float, expected: set[str]
) -> None:
    one = replace(chance(), last=NOON + last * HOUR, place=1 if need.process else None)
    assert set(reasons_for(one, has, need, Around(zone=ZONE, **around))) == expected  # type: ignore[arg-type]
