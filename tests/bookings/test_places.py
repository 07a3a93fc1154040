"""Shared capacity: weaving a stay through N lanes, against two independent interval libraries."""

import itertools
from datetime import UTC, datetime, timedelta

import portion
from hypothesis import example, given
from hypothesis import strategies as st
from intervaltree import IntervalTree

from studiodesk.bookings.rules.places import full_spans, peak, weave
from studiodesk.timekeeping import Span

ORIGIN = datetime(2026, 11, 24, 12, tzinfo=UTC)
QUANTUM = timedelta(minutes=15)


def span(starts: int, ends: int) -> Span:
    return Span(ORIGIN + starts * QUANTUM, ORIGIN + ends * QUANTUM)


@st.composite
def lanes(draw: st.DrawFn) -> list[list[Span]]:
    """One to four lanes over twelve quanta, each with spans that do not overlap (they may touch)."""
    out = []
    for _ in range(draw(st.integers(1, 4))):
        cuts = sorted(draw(st.sets(st.integers(0, 12), max_size=6)))
        kept = draw(st.lists(st.booleans(), min_size=6, max_size=6))
        pairs = zip(cuts, cuts[1:], kept, strict=False)
        out.append([span(a, b) for a, b, keep in pairs if keep])
    return out


stays = st.tuples(st.integers(0, 11), st.integers(1, 12)).map(lambda pair: span(pair[0], min(12, pair[0] + pair[1])))


def always_room(stay: Span, busy: list[list[Span]]) -> bool:
    """intervaltree's view: at every edge within the stay fewer than N spans lie over the instant."""
    tree = IntervalTree.from_tuples((s.starts, s.ends, lane) for lane, spans in enumerate(busy) for s in spans)
    edges = {stay.starts} | {s.starts for lane in busy for s in lane if stay.holds(s.starts)}
    return all(len(tree[edge]) < len(busy) for edge in edges)


@given(stays, lanes())
@example(span(0, 4), [[span(0, 2)], [span(2, 4)]])  # fits only by changing lanes half way
@example(span(0, 4), [[span(0, 2)], [span(1, 4)]])
def test_a_stay_fits_exactly_when_fewer_than_n_are_in_use_at_every_instant(stay: Span, busy: list[list[Span]]) -> None:
    assert (weave(stay, busy) is not None) == always_room(stay, busy)


@given(stays, lanes())
def test_the_pieces_cover_the_stay_without_gap_or_overlap_and_only_free_lanes(
    stay: Span, busy: list[list[Span]]
) -> None:
    pieces = weave(stay, busy)
    if pieces is None:
        return
    assert pieces[0].span.starts == stay.starts
    assert pieces[-1].span.ends == stay.ends
    assert all(a.span.ends == b.span.starts for a, b in itertools.pairwise(pieces))
    assert all(a.lane != b.lane for a, b in itertools.pairwise(pieces))
    assert not any(piece.span.overlaps(taken) for piece in pieces for taken in busy[piece.lane])


def test_a_stay_that_fits_only_by_changing_places_does_so_once() -> None:
    pieces = weave(span(0, 8), [[span(0, 4)], [span(4, 8)]])
    assert pieces is not None
    assert [(piece.lane, piece.span) for piece in pieces] == [(1, span(0, 4)), (0, span(4, 8))]


def test_the_lane_that_stays_free_longest_is_taken() -> None:
    pieces = weave(span(0, 6), [[span(2, 3)], [span(5, 6)], []])
    assert pieces is not None
    assert [piece.lane for piece in pieces] == [2]


@given(st.lists(stays, max_size=8), stays)
def test_the_peak_is_the_greatest_number_at_one_instant(many: list[Span], within: Span) -> None:
    tree = IntervalTree()
    for index, one in enumerate(many):
        tree.addi(one.starts, one.ends, index)
    quanta = [within.starts + n * QUANTUM for n in range(int(within.length / QUANTUM))]
    assert peak(many, within) == max(len(tree[moment]) for moment in quanta)


@given(lanes())
def test_full_is_the_intersection_of_all_lanes(busy: list[list[Span]]) -> None:
    expected = portion.closedopen(ORIGIN, ORIGIN + 12 * QUANTUM)
    for lane in busy:
        taken = portion.empty()
        for one in lane:
            taken |= portion.closedopen(one.starts, one.ends)
        expected &= taken
    got = portion.empty()
    for one in full_spans(busy):
        got |= portion.closedopen(one.starts, one.ends)
    assert got == expected


def test_a_processor_without_places_is_never_full_and_never_fits() -> None:
    assert full_spans([]) == []
    assert weave(span(0, 1), []) is None
