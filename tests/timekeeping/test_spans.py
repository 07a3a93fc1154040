"""Spans against portion, an independent library of interval arithmetic."""

import itertools
from datetime import UTC, datetime, timedelta

import portion
import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.timekeeping import Span, merged, without

ORIGIN = datetime(2026, 3, 29, tzinfo=UTC)


def at(minute: int) -> datetime:
    return ORIGIN + timedelta(minutes=minute)


def as_portion(spans: list[Span]) -> portion.Interval:
    whole = portion.empty()
    for span in spans:
        whole |= portion.closedopen(span.starts, span.ends)
    return whole


spans = st.lists(
    st.tuples(st.integers(0, 60), st.integers(1, 20)).map(lambda pair: Span(at(pair[0]), at(pair[0] + pair[1]))),
    max_size=12,
)


@given(spans)
def test_merged_spans_are_the_union_and_nothing_touches(many: list[Span]) -> None:
    out = merged(many)
    assert as_portion(out) == as_portion(many)
    assert len(out) == len([i for i in as_portion(many) if not i.empty])
    assert all(a.ends < b.starts for a, b in itertools.pairwise(out))


@given(spans, spans)
def test_without_is_the_difference(whole: list[Span], holes: list[Span]) -> None:
    out = without(whole, holes)
    assert as_portion(out) == as_portion(whole) - as_portion(holes)
    assert out == sorted(out)


@given(spans)
def test_overlap_is_an_instant_in_common(many: list[Span]) -> None:
    for one in many:
        for other in many:
            assert one.overlaps(other) == (not (as_portion([one]) & as_portion([other])).empty)


def test_a_span_needs_aware_times_in_order() -> None:
    with pytest.raises(ValueError, match="ends after"):
        Span(at(5), at(5))
    with pytest.raises(ValueError, match="aware"):
        Span(datetime(2026, 1, 1), datetime(2026, 1, 2))  # naive on purpose


def test_spans_that_touch_do_not_overlap_and_the_end_is_not_held() -> None:
    first, second = Span(at(0), at(10)), Span(at(10), at(20))
    assert not first.overlaps(second)
    assert not first.holds(at(10))
    assert second.holds(at(10))
    assert first.clipped_to(second) is None
