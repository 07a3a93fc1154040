"""Finding a free time against a brute-force bitmap that knows nothing of gaps or sweeps."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from studiodesk.bookings.rules.free_times import Candidate, Offer, Place, Wish, offers_of_a_day
from studiodesk.timekeeping import Span

ORIGIN = datetime(2026, 11, 24, 12, tzinfo=UTC)
GRID = timedelta(minutes=15)
DAY = 24  # quanta in the drawn window


def at(quantum: int) -> datetime:
    return ORIGIN + quantum * GRID


def span(starts: int, ends: int) -> Span:
    return Span(at(starts), at(ends))


def bits(spans: list[Span]) -> set[int]:
    return {n for n in range(DAY) if any(one.holds(at(n)) for one in spans)}


def by_bitmap(opened: list[Span], stations: list[Candidate], wish: Wish) -> set[tuple[int, datetime]]:
    """Every (station, start) that can be had, quantum by quantum."""
    is_open, length = bits(opened), int(wish.length / GRID)
    found = set()
    for station in stations:
        before, after = int(station.set_up / GRID), int(station.clear_up / GRID)
        taken, shut = bits(list(station.taken)), bits(list(station.shut))
        for start in range(DAY):
            own = set(range(start, start + length))
            whole = set(range(start - before, start + length + after))
            if at(start) < wish.not_before or not whole <= is_open or whole & taken or own & shut:
                continue
            places = wish.places
            if places is None or any(
                not (own & bits(list(place.full))) and (place.not_before is None or at(start) >= place.not_before)
                for place in places
            ):
                found.add((station.key, at(start)))
    return found


def expanded(offers: list[Offer]) -> set[tuple[int, datetime]]:
    return {(offer.station, start) for offer in offers for start in offer.starts(GRID)}


spans = st.lists(
    st.tuples(st.integers(0, DAY - 1), st.integers(1, 6)).map(lambda p: span(p[0], min(DAY, p[0] + p[1]))), max_size=4
)


@st.composite
def worlds(draw: st.DrawFn) -> tuple[list[Span], list[Candidate], Wish]:
    opened = draw(st.sampled_from([[span(0, DAY)], [span(2, 20)], [span(0, 8), span(12, DAY)], []]))
    stations = [
        Candidate(key, draw(spans), draw(st.integers(0, 1)) * GRID, draw(st.integers(0, 2)) * GRID, draw(spans))
        for key in range(draw(st.integers(1, 3)))
    ]
    places = None
    if draw(st.booleans()):
        warm = st.one_of(st.none(), st.integers(0, 12).map(at))
        places = [Place(key, draw(spans), draw(warm)) for key in range(draw(st.integers(0, 2)))]
    return opened, stations, Wish(draw(st.integers(1, 8)) * GRID, GRID, at(draw(st.integers(0, 8))), places)


@given(worlds())
def test_the_offers_are_exactly_what_the_bitmap_finds(world: tuple[list[Span], list[Candidate], Wish]) -> None:
    offers = offers_of_a_day(*world)
    assert expanded(offers) == by_bitmap(*world)
    assert [offer.first for offer in offers] == sorted(offer.first for offer in offers)


def designed() -> tuple[list[Span], list[Candidate], Wish]:
    """A day reckoned by hand: 2 h wished, booth 1 taken in the middle, booth 2 early, no place for one quarter."""
    opened = [span(0, DAY)]
    stations = [Candidate(1, [span(8, 12)], clear_up=GRID), Candidate(2, [span(0, 10)], clear_up=GRID)]
    return opened, stations, Wish(GRID * 8, GRID, at(0), [Place(7, [span(20, 21)])])


def test_on_a_designed_day_the_oracle_is_not_empty_and_the_answer_is_the_one_reckoned_by_hand() -> None:
    opened, stations, wish = designed()
    assert by_bitmap(opened, stations, wish)  # an empty oracle would agree with anything
    # Booth 1: 0 to 8 leaves 7 quanta before clear-up, too short; from 12 to 20 (no place at 20): start 12.
    # Booth 2: from 10, the stay must end by 20: starts 10, 11, 12.
    assert offers_of_a_day(opened, stations, wish) == [
        Offer(2, 7, at(10), at(12), wish.length),
        Offer(1, 7, at(12), at(12), wish.length),
    ]


def test_a_machine_that_is_cold_gives_way_to_one_that_is_warm() -> None:
    wish = Wish(GRID * 4, GRID, at(0), [Place(1, (), at(6)), Place(2, [span(8, 12)])])
    offers = offers_of_a_day([span(0, 16)], [Candidate(5, [])], wish)
    assert [(offer.place, offer.first, offer.last) for offer in offers] == [(2, at(0), at(4)), (1, at(6), at(12))]
    assert offers[0].ends == at(4)


def test_nothing_is_offered_on_a_closed_day_or_without_a_processor() -> None:
    _, stations, wish = designed()
    assert offers_of_a_day([], stations, wish) == []
    assert offers_of_a_day([span(0, DAY)], stations, Wish(wish.length, GRID, at(0), [])) == []
