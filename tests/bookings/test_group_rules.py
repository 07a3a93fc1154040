"""What a group keeps together: matched as many as SciPy says there can be."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studiodesk.bookings.rules.groups import Fit, Machine, PlacesNeed, Spot, StationNeed, Wish, fit, match, preferred
from studiodesk.timekeeping import Span

DAY = datetime(2026, 11, 28, tzinfo=UTC)
HOUR = timedelta(hours=1)


def span(begins: float, ends: float) -> Span:
    return Span(DAY + begins * HOUR, DAY + ends * HOUR)


def booth(key: int, **more: object) -> Spot:
    return Spot(**{"key": key, "name": f"Booth {key}", "kind": "booth", "processes": frozenset({"rc"}), **more})  # type: ignore[arg-type]


def wish(number: int = 4, **more: object) -> Wish:
    plain = {"span": span(10, 13), "heads": 8, "stations": [StationNeed("booth", number, "rc", "safelight")]}
    return Wish(**{**plain, **more})  # type: ignore[arg-type]


def codes(found: Fit) -> list[str]:
    return [clash.what for clash in found.clashes]


def test_four_booths_a_processor_and_nothing_else_is_kept() -> None:
    lanes = [[], [], [span(9, 10)], []]
    found = fit(wish(places=[PlacesNeed("RC", [Machine(90, "P-RC", lanes)], 4)]), [booth(n) for n in range(6)])
    assert found.clashes == () and sorted(found.stations) == [0, 1, 2, 3]
    assert sorted({piece.lane for piece in found.places[90]}) == [0, 1, 2, 3]
    assert {piece.span for piece in found.places[90]} == {span(10, 13)}


def test_one_booth_too_few_and_nothing_is_kept() -> None:
    spots = [booth(n, taken=[span(12, 14)] if n < 3 else []) for n in range(6)]
    found = fit(wish(), spots)
    assert (found.stations, found.places, found.lights) == ({}, {}, {})
    assert [(c.what, c.name, c.wanted, c.free, c.keys) for c in found.clashes] == [
        ("stations", "booth", 4, 3, (0, 1, 2))
    ]


@pytest.mark.parametrize(("ends", "kept"), [(9.0, True), (9.25, False)], ids=["touches", "overlaps"])
def test_preparation_and_clear_up_are_kept_too(ends: float, kept: bool) -> None:
    found = fit(wish(number=1, before=HOUR, after=HOUR / 2), [booth(1, taken=[span(8, ends)])])
    assert (found.stations == {1: span(9, 13.5)}) is kept


def test_a_stations_own_set_up_is_part_of_the_groups_and_not_on_top_of_it() -> None:
    found = fit(wish(number=1, before=HOUR / 4), [booth(1, set_up=HOUR / 2, clear_up=HOUR / 4)])
    assert found.stations == {1: span(9.5, 13.25)}


def test_a_machine_of_its_own_is_all_its_places_or_the_next_machine() -> None:
    busy, free = Machine(90, "Old", [[], [span(11, 12)]]), Machine(91, "New", [[], []])
    found = fit(wish(places=[PlacesNeed("RC", [busy, free], 0)]), [booth(n) for n in range(4)])
    assert list(found.places) == [91]
    alone = fit(wish(places=[PlacesNeed("RC", [busy], 0)]), [booth(n) for n in range(4)])
    assert [(c.what, c.name, c.wanted, c.free) for c in alone.clashes] == [("places", "Old", 2, 1)]


def test_places_are_woven_where_no_lane_is_free_throughout() -> None:
    lanes = [[span(10, 11)], [span(12, 13)]]
    found = fit(wish(number=1, places=[PlacesNeed("RC", [Machine(90, "P", lanes)], 1)]), [booth(1)])
    assert [(piece.lane, piece.span) for piece in found.places[90]] == [(1, span(10, 12)), (0, span(12, 13))]


def test_a_process_that_no_machine_does_is_a_clash_and_no_error() -> None:
    assert codes(fit(wish(number=0, places=[PlacesNeed("Film", [], 1)]), [])) == ["places"]


def test_a_room_in_another_light_is_not_free() -> None:
    lit = {"total darkness": [span(12, 15)]}
    assert codes(fit(wish(number=1), [booth(1, room=7, lights=lit)])) == ["stations"]
    assert fit(wish(number=1), [booth(1, room=7, lights={"safelight": [span(12, 15)]})]).lights == {7: "safelight"}
    assert fit(wish(number=1), [booth(1, room=None)]).lights == {}


def test_two_processes_of_one_class_do_not_meet_in_one_room() -> None:
    both = frozenset({"rc", "ra4"})
    spots = [booth(n, processes=both, room=1 + n // 2) for n in range(4)]
    needs = [StationNeed("booth", 2, "rc", "safelight"), StationNeed("booth", 2, "ra4", "total darkness")]
    found = fit(wish(stations=needs), spots)
    assert found.clashes == () and sorted(found.lights.values()) == ["safelight", "total darkness"]
    assert codes(fit(wish(stations=needs), [booth(n, processes=both, room=1) for n in range(4)])) == ["stations"]


def test_the_heads_of_a_room_and_of_the_house_are_counted() -> None:
    bay = Spot(5, "Bay", "bay", heads=10)
    talk = wish(stations=[StationNeed("bay", 1)], heads=11)
    assert [(c.what, c.wanted, c.free) for c in fit(talk, [bay]).clashes] == [("room", 11, 10)]
    assert fit(wish(stations=[StationNeed("bay", 1)], heads=10), [bay]).clashes == ()
    assert fit(talk, [Spot(5, "Bay", "bay")]).clashes == ()
    full = wish(number=1, heads=8, heads_at_once=10, others_in=[span(9, 11), span(10, 12), span(12, 14)])
    assert fit(full, [booth(1)]).clashes == ()
    assert codes(fit(wish(number=1, heads=9, heads_at_once=10, others_in=full.others_in), [booth(1)])) == ["heads"]
    rooms = wish(number=2, heads=9, rooms={1: 4, 2: 4})
    assert codes(fit(rooms, [booth(1, room=1), booth(2, room=2)])) == ["room"]


def test_a_day_on_which_the_house_is_closed_is_said_with_everything_else() -> None:
    found = fit(wish(closed_because="Christmas"), [booth(1)])
    assert codes(found) == ["closed", "stations"]


def test_the_smallest_room_that_is_large_enough_is_taken_first() -> None:
    rooms = [booth(n, room=1) for n in range(5)] + [booth(10 + n, room=2) for n in range(3)]
    assert [spot.room for spot in preferred(rooms, 3)][:3] == [2, 2, 2]
    assert [spot.room for spot in preferred(rooms, 4)][:4] == [1, 1, 1, 1]
    assert [spot.room for spot in preferred(rooms, 7)][:7] == [1, 1, 1, 1, 1, 2, 2]
    cubicles = [booth(20 + n) for n in range(6)]
    assert [spot.room for spot in preferred([*cubicles, *rooms[:3]], 5)][:5] == [1, 1, 1, None, None]
    plain, rich = booth(1, processes=frozenset({"rc", "ra4"})), booth(2)
    assert [spot.key for spot in preferred([plain, rich], 1)] == [2, 1]


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_as_many_stations_as_can_be_had_are_matched_and_none_twice(data: st.DataObject) -> None:
    spots = [booth(n) for n in range(5)]
    needs = [StationNeed("booth", data.draw(st.integers(0, 2))) for _ in range(3)]
    free = [data.draw(st.lists(st.sampled_from(spots), unique_by=lambda s: s.key)) for _ in needs]
    found = match(needs, free)
    keys = [spot.key for many in found for spot in many]
    assert len(keys) == len(set(keys))
    assert all({s.key for s in got} <= {s.key for s in many} for got, many in zip(found, free, strict=True))
    assert all(len(got) <= need.number for got, need in zip(found, needs, strict=True))
    assert len(keys) == most(needs, free)


def most(needs: list[StationNeed], free: list[list[Spot]]) -> int:
    """The size of a largest matching, by SciPy's Hopcroft and Karp (scipy.sparse.csgraph)."""
    import numpy
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import maximum_bipartite_matching

    rows = [many for need, many in zip(needs, free, strict=True) for _ in range(need.number)]
    if not rows:
        return 0
    grid = numpy.zeros((len(rows), 5), dtype=int)
    for row, many in enumerate(rows):
        for spot in many:
            grid[row, spot.key] = 1
    return int((maximum_bipartite_matching(csr_array(grid), perm_type="column") >= 0).sum())


def test_two_needs_for_all_of_a_process_are_both_its_machines_and_a_third_finds_none() -> None:
    machines = [Machine(90, "Small", [[], []]), Machine(91, "Large", [[], [], []])]
    both = fit(wish(number=1, places=[PlacesNeed("RC", machines)] * 2), [booth(1)])
    assert {key: len(pieces) for key, pieces in both.places.items()} == {90: 2, 91: 3}
    assert codes(fit(wish(number=1, places=[PlacesNeed("RC", machines)] * 3), [booth(1)])) == ["places"]
