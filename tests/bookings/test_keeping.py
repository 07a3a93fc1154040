"""What may become of a booking, and how a closure is cut: pure."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.answers import Refusal
from studiodesk.bookings.rules import keeping, outages
from studiodesk.bookings.rules.keeping import State
from studiodesk.timekeeping import Span, merged

STARTS = datetime(2026, 11, 26, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)
BOOKED = State(STARTS, STARTS + 3 * HOUR)


def at(hours: float) -> datetime:
    return STARTS + hours * HOUR


@pytest.mark.parametrize(
    ("state", "hours", "expected"),
    [
        (BOOKED, -1, "coming"),
        (BOOKED, 0, "expected"),
        (BOOKED, 3, "did not come"),
        (State(BOOKED.starts, BOOKED.ends, arrived_at=at(0)), 1, "in"),
        (State(BOOKED.starts, BOOKED.ends, arrived_at=at(0)), 3, "came"),
        (State(BOOKED.starts, BOOKED.ends, arrived_at=at(0), left_at=at(1)), 2, "came"),
        (State(BOOKED.starts, BOOKED.ends, cancelled_at=at(-5)), 9, "cancelled"),
    ],
)
def test_a_booking_stands_as_a_person_would_say(state: State, hours: float, expected: str) -> None:
    assert keeping.standing(state, at(hours)) == expected


@pytest.mark.parametrize(
    ("hours", "runs_the_house", "expected"),
    [
        (-0.01, False, None),
        (0, False, "bookings.begun"),
        (0, True, None),
        (5, False, "bookings.begun"),
        (2.99, True, None),
        (3, True, "bookings.over"),
        (5, True, "bookings.over"),
    ],
)
def test_a_member_cancels_until_it_begins_and_the_house_until_it_is_over(
    hours: float, runs_the_house: bool, expected: str | None
) -> None:
    refusal = keeping.may_cancel(BOOKED, at(hours), runs_the_house=runs_the_house)
    assert (refusal.code if refusal else None) == expected


@pytest.mark.parametrize(
    ("hours", "expected"), [(-1.01, "bookings.too_early"), (-1, None), (2.99, None), (3, "bookings.over")]
)
def test_signing_in_opens_an_hour_before_and_shuts_at_the_end(hours: float, expected: str | None) -> None:
    refusal = keeping.may_arrive(BOOKED, at(hours))
    assert (refusal.code if refusal else None) == expected


@given(st.integers(1, 400))
def test_a_long_closure_is_cut_into_days_that_touch(hours: int) -> None:
    span = Span(STARTS, at(hours))
    pieces = keeping.day_pieces(span)
    assert merged(pieces) == [span]
    assert all(piece.length <= timedelta(hours=24) for piece in pieces)
    assert len(pieces) == -(-hours // 24)


@given(st.integers(0, 20), st.integers(1, 20), st.integers(0, 20), st.integers(1, 20))
def test_what_is_given_back_and_what_is_left_are_the_whole(a: int, b: int, c: int, d: int) -> None:
    held, freed = Span(at(a), at(a + b)), Span(at(c), at(c + d))
    rest = keeping.remnants(held, freed)
    assert not any(piece.overlaps(freed) for piece in rest)
    both = [*rest, *([given_back] if (given_back := held.clipped_to(freed)) else [])]
    assert merged(both) == [held]


def test_what_is_given_back_of_a_time_out_of_service_never_lies_in_the_past() -> None:
    span, inside = Span(at(0), at(4)), Span(at(1), at(2))
    assert outages.freed(span, at(-1)) == span
    assert outages.freed(span, at(1)) == Span(at(1), at(4))
    gone = outages.freed(span, at(4))
    assert isinstance(gone, Refusal)
    assert gone.code == "bookings.in_the_past"
    assert outages.left_of(span, inside) == [Span(at(0), at(1)), Span(at(2), at(4))]
    assert outages.left_of(span, span) == []
    assert outages.owner_of(Span(at(3), at(4)), outages.left_of(span, inside)) == 1
    assert outages.owner_of(inside, outages.left_of(span, inside)) is None
