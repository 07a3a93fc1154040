"""Day lines and step wedges, against a minute-by-minute reading of the same facts."""

import itertools
from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from studiodesk.bookings.rules.day import (
    Held,
    Stretch,
    booked_pieces,
    drawn_span,
    processor_stretches,
    rounded_up,
    station_stretches,
    wedge,
)
from studiodesk.timekeeping import Span

ORIGIN = datetime(2026, 11, 24, 12, tzinfo=UTC)
FIVE = timedelta(minutes=5)
DAY = 48


def at(quantum: int) -> datetime:
    return ORIGIN + quantum * FIVE


def span(starts: int, ends: int) -> Span:
    return Span(at(starts), at(ends))


@st.composite
def lanes(draw: st.DrawFn) -> list[Span]:
    cuts = sorted(draw(st.sets(st.integers(0, DAY), max_size=8)))
    return [span(a, b) for a, b in zip(cuts[::2], cuts[1::2], strict=False)]


openings = st.sampled_from([[span(0, DAY)], [span(6, 40)], [span(0, 12), span(20, 44)]])
nows = st.integers(-4, DAY + 4).map(at)
WHOLE = span(0, DAY)


def is_contiguous(stretches: tuple[Stretch, ...]) -> bool:
    joins = all(a.ends == b.starts for a, b in itertools.pairwise(stretches))
    return joins and stretches[0].starts == WHOLE.starts and stretches[-1].ends == WHOLE.ends


def over(stretches: tuple[Stretch, ...], moment: datetime) -> Stretch:
    return next(s for s in stretches if s.starts <= moment < s.ends)


@given(lanes(), openings, nows, st.booleans())
def test_every_moment_of_a_line_says_what_is_so(
    taken: list[Span], opened: list[Span], now: datetime, lifted: bool
) -> None:
    held = [Held(one, "taken") for one in taken]
    stretches = station_stretches(WHOLE, opened, held, now, past_shown=lifted)
    assert is_contiguous(stretches)
    for quantum in range(DAY):
        moment = at(quantum)
        gone = moment < now
        if gone and not lifted:
            expected = "past"
        elif any(one.holds(moment) for one in taken):
            expected = "taken"
        elif any(one.holds(moment) for one in opened):
            expected = "past" if gone else "free"
        else:
            expected = "closed"
        assert over(stretches, moment).what == expected


@given(lanes(), openings, nows)
def test_neighbours_of_a_line_always_differ(taken: list[Span], opened: list[Span], now: datetime) -> None:
    stretches = station_stretches(WHOLE, opened, [Held(one, "taken") for one in taken], now)
    assert all((a.what, a.label, a.url) != (b.what, b.label, b.url) for a, b in itertools.pairwise(stretches))


@given(st.lists(lanes(), min_size=1, max_size=4), openings, nows)
def test_a_processor_counts_its_free_places_at_every_moment(
    taken: list[list[Span]], opened: list[Span], now: datetime
) -> None:
    held = [[Held(one, "taken") for one in lane] for lane in taken]
    stretches = processor_stretches(WHOLE, opened, held, now)
    assert is_contiguous(stretches)
    for quantum in range(DAY):
        moment = at(quantum)
        stretch = over(stretches, moment)
        used = sum(any(one.holds(moment) for one in lane) for lane in taken)
        assert stretch.of == len(taken)
        if stretch.what == "closed":
            assert used == 0
            assert stretch.free == 0
        else:
            assert stretch.free == len(taken) - used
            assert stretch.what == "past" or (stretch.what == "free") == (stretch.free > 0)


@given(st.lists(lanes(), min_size=1, max_size=5), openings)
def test_a_wedge_counts_the_free_stations_and_steps_where_the_number_changes(
    taken: list[list[Span]], opened: list[Span]
) -> None:
    drawn = wedge("enlarger booth", WHOLE, opened, taken)
    assert drawn.of == len(taken)
    for quantum in range(DAY):
        moment = at(quantum)
        step = next(s for s in drawn.steps if s.starts <= moment < s.ends)
        is_open = any(one.holds(moment) for one in opened)
        free = sum(not any(one.holds(moment) for one in lane) for lane in taken)
        assert (step.free, step.of) == ((free, len(taken)) if is_open else (0, 0))
    assert all((a.free, a.of) != (b.free, b.of) for a, b in zip(drawn.steps, drawn.steps[1:], strict=False))


def test_a_line_of_one_booking_with_clear_up_reads_as_a_person_would_say_it() -> None:
    held = booked_pieces(span(11, 30), span(12, 27), "yours", url="/bookings/1/")
    stretches = station_stretches(WHOLE, [span(0, 40)], held, at(0))
    assert [(s.what, s.starts, s.ends) for s in stretches] == [
        ("free", at(0), at(11)),
        ("clear-up", at(11), at(12)),
        ("yours", at(12), at(27)),
        ("clear-up", at(27), at(30)),
        ("free", at(30), at(40)),
        ("closed", at(40), at(48)),
    ]
    assert stretches[2].url == "/bookings/1/"


def test_bookings_of_others_that_touch_are_drawn_as_one() -> None:
    held = [Held(span(0, 6), "taken"), Held(span(6, 12), "taken")]
    assert station_stretches(span(0, 12), [WHOLE], held, at(-9)) == (Stretch(at(0), at(12), "taken"),)


def test_for_staff_they_are_two() -> None:
    held = [Held(span(0, 6), "taken", url="/bookings/1/"), Held(span(6, 12), "taken", url="/bookings/2/")]
    assert [s.url for s in station_stretches(span(0, 12), [WHOLE], held, at(-9))] == ["/bookings/1/", "/bookings/2/"]


def test_the_card_ends_at_the_next_five_minutes() -> None:
    assert rounded_up(at(3) + timedelta(seconds=1)) == at(4)
    assert rounded_up(at(3)) == at(3)
    stretches = station_stretches(WHOLE, [WHOLE], [], at(3) + timedelta(seconds=1))
    assert [(s.what, s.starts) for s in stretches] == [("past", at(0)), ("free", at(4))]


def test_a_processor_out_of_service_in_all_places_says_so() -> None:
    held = [[Held(span(12, 24), "out of service")], [Held(span(12, 24), "out of service")]]
    stretches = processor_stretches(WHOLE, [WHOLE], held, at(-9))
    assert [(s.what, s.free) for s in stretches] == [("free", 2), ("out of service", 0), ("free", 2)]


def test_what_is_drawn_are_whole_hours_within_the_day() -> None:
    day = Span(ORIGIN - timedelta(hours=13), ORIGIN + timedelta(hours=11))
    assert drawn_span([span(3, 30)], [span(1, 40)], day) == Span(ORIGIN, ORIGIN + timedelta(hours=4))
    assert drawn_span([], [], day) is None
    late = Span(day.ends - timedelta(minutes=30), day.ends + timedelta(hours=2))
    assert drawn_span([late], [], day) == Span(day.ends - timedelta(hours=1), day.ends)
