"""Bookings of a history: who stands in whose way, and that every quarter that fits is given its places."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st
from intervaltree import IntervalTree

from studiodesk.bookings.rules.past import PastBooking, first_clash, woven
from studiodesk.timekeeping import Span

ORIGIN = datetime(2026, 8, 4, 12, tzinfo=UTC)


def at(hours: int) -> datetime:
    return ORIGIN + timedelta(hours=hours)


def row(number: int, starts: int, ends: int) -> PastBooking:
    return PastBooking(f"B{number}", 1, 1, 1, at(starts), at(ends), at(-9), row_number=number)


times = st.tuples(st.integers(0, 30), st.integers(1, 8)).map(lambda pair: (pair[0], pair[0] + pair[1]))
rows = st.lists(times, max_size=14).map(lambda many: [row(n, a, b) for n, (a, b) in enumerate(many, start=2)])


@given(rows)
def test_a_clash_is_found_exactly_when_two_rows_share_an_instant(many: list[PastBooking]) -> None:
    clash = first_clash([(one.span, one) for one in many], [])
    pairs = {(a.row_number, b.row_number) for a in many for b in many if a is not b and a.span.overlaps(b.span)}
    assert (clash is None) == (not pairs)
    if clash is not None:
        assert (int(clash.earlier_reference[1:]), clash.later.row_number) in pairs


@given(rows, st.lists(times, max_size=1))
def test_a_row_never_clashes_with_itself_but_with_what_stands_already(
    many: list[PastBooking], old: list[tuple[int, int]]
) -> None:
    alone = [many[:1]] if many else [[]]
    standing = [(Span(at(a), at(b)), "OLD") for a, b in old]
    clash = first_clash([(one.span, one) for one in alone[0]], standing)
    expected = bool(alone[0] and standing and alone[0][0].span.overlaps(standing[0][0]))
    assert (clash is not None) == expected
    if clash is not None:
        assert clash.earlier_reference == "OLD"


@given(rows, st.integers(1, 4))
def test_every_set_of_stays_with_fewer_than_n_at_once_finds_its_places(many: list[PastBooking], lanes: int) -> None:
    tree = IntervalTree.from_tuples((one.starts, one.ends, one.row_number) for one in many)
    fits = all(len(tree[one.starts]) <= lanes for one in many)
    answer = woven(many, [[[] for _ in range(lanes)]])
    assert isinstance(answer, list) == fits
    if isinstance(answer, list):
        per_lane: dict[int, list[Span]] = {}
        for seat in answer:
            assert sum((piece.span.length for piece in seat.pieces), timedelta()) == seat.row.span.length
            for piece in seat.pieces:
                assert not any(piece.span.overlaps(other) for other in per_lane.get(piece.lane, []))
                per_lane.setdefault(piece.lane, []).append(piece.span)


def test_the_row_for_which_no_place_is_left_is_the_answer() -> None:
    many = [row(2, 0, 4), row(3, 1, 5), row(4, 2, 6)]
    assert woven(many, [[[], []]]) is many[2]
    assert isinstance(woven(many, [[[], [], []]]), list)


def test_what_stands_already_is_kept_out_of_the_way() -> None:
    answer = woven([row(2, 0, 4)], [[[Span(at(1), at(2))], []]])
    assert isinstance(answer, list)
    assert [piece.lane for piece in answer[0].pieces] == [1]


def test_a_second_processor_serves_what_the_first_has_no_place_for() -> None:
    many = [row(2, 0, 4), row(3, 1, 5)]
    answer = woven(many, [[[]], [[]]])
    assert isinstance(answer, list)
    assert [(seat.row.row_number, seat.machine) for seat in answer] == [(2, 0), (3, 1)]
