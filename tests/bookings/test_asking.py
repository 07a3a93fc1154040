"""The rule of ``book``: one allowed case, and each reason for a no by changing one thing of it."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from studiodesk.answers import Refusal
from studiodesk.bookings.rules.asking import (
    Asked,
    HouseFacts,
    ProcessorFacts,
    StationFacts,
    may_book,
    nearest_opening,
    on_grid,
)
from studiodesk.timekeeping import Span

ZONE = ZoneInfo("Europe/Amsterdam")
NOON = datetime(2026, 11, 24, 12, tzinfo=UTC)  # 13:00 in the studio: opening
QUARTER, HOUR = timedelta(minutes=15), timedelta(hours=1)


def at(hours: float) -> datetime:
    return NOON + timedelta(hours=hours)


def span(starts: float, ends: float) -> Span:
    return Span(at(starts), at(ends))


ASKED = Asked(at(2), at(5), "rc", at(-20))
STATION = StationFacts("E1", "Booth 1", frozenset({"rc", "fb"}), clear_up=QUARTER)
PROCESSOR = ProcessorFacts("P-RC", "RC processor", [[], []])
HOUSE = HouseFacts(ZONE, QUARTER, [span(-24, -15), span(0, 9), span(24, 33)], heads_at_once=3)


def answer(
    asked: Asked = ASKED,
    station: StationFacts = STATION,
    processors: tuple[ProcessorFacts, ...] = (PROCESSOR,),
    house: HouseFacts = HOUSE,
) -> Refusal | ProcessorFacts | None:
    return may_book(asked, station, processors, house)


def code(*args: object, **kwargs: object) -> str:
    said = answer(*args, **kwargs)  # type: ignore[arg-type]
    assert isinstance(said, Refusal), said
    return said.code


def test_a_free_booth_with_a_place_at_a_warm_processor_is_given() -> None:
    assert answer() is PROCESSOR


def test_a_station_without_processes_needs_none_and_gets_none() -> None:
    scanner = replace(STATION, processes=frozenset())
    assert answer(replace(ASKED, process=None), scanner, ()) is None
    assert code(ASKED, scanner) == "bookings.unknown_process_for_station"


@pytest.mark.parametrize(
    ("starts", "ends", "expected"),
    [
        (2, 2, "bookings.too_short"),
        (3, 2, "bookings.too_short"),
        (2, 2 + 5 / 60, "bookings.too_short"),
        (0, 12.25, "bookings.too_long"),
        (-21, -19, "bookings.in_the_past"),
        (2 + 5 / 60, 5, "bookings.off_grid"),
        (2, 5 + 1 / 60, "bookings.off_grid"),
        (-2, 1, "bookings.closed"),
        (10, 12, "bookings.closed"),
        (7, 9, "bookings.no_time_to_clear_up"),
    ],
)
def test_a_time_that_cannot_be_is_refused_with_its_own_reason(starts: float, ends: float, expected: str) -> None:
    assert code(replace(ASKED, starts=at(starts), ends=at(ends))) == expected


def test_twelve_hours_are_allowed_and_a_quarter_more_is_not() -> None:
    house = replace(HOUSE, opened=[span(0, 14)])
    assert answer(replace(ASKED, starts=at(0), ends=at(12)), house=house) is PROCESSOR
    assert code(replace(ASKED, starts=at(0), ends=at(12.25)), house=house) == "bookings.too_long"


def test_staff_may_begin_on_the_five_minute_grid() -> None:
    house = replace(HOUSE, grid=timedelta(minutes=5))
    assert answer(replace(ASKED, starts=at(2 + 5 / 60)), house=house) is PROCESSOR


def test_the_stay_may_end_so_that_its_clear_up_ends_at_closing() -> None:
    assert answer(replace(ASKED, starts=at(7), ends=at(8.75))) is PROCESSOR
    said = answer(replace(ASKED, starts=at(7), ends=at(9)))
    assert isinstance(said, Refusal)
    assert said.facts["until"] == at(8.75)


def test_closed_names_the_nearest_opening_still_to_come() -> None:
    said = answer(replace(ASKED, starts=at(10), ends=at(12)))
    assert isinstance(said, Refusal)
    assert (said.facts["opens"], said.facts["closes"]) == (at(0), at(9))
    later = answer(replace(ASKED, starts=at(10), ends=at(12), now=at(9.5)))
    assert isinstance(later, Refusal)
    assert later.facts["opens"] == at(24)
    assert code(house=replace(HOUSE, opened=[])) == "bookings.closed_throughout"
    # No opening is so long, but there is one: the house is not "closed throughout".
    assert code(house=replace(HOUSE, opened=[Span(at(40), at(41))])) == "bookings.closed"


def test_the_nearest_opening_is_long_enough() -> None:
    opened = [span(0, 1), span(6, 12)]
    assert nearest_opening(span(-1, 2), opened, HOUR) == span(0, 1)
    assert nearest_opening(span(-1, 2), opened, 3 * HOUR) == span(6, 12)
    assert nearest_opening(span(-1, 2), opened, 9 * HOUR) is None


def test_a_booth_booking_names_its_process_and_one_that_the_booth_can_do() -> None:
    assert code(replace(ASKED, process=None)) == "bookings.needs_process"
    assert code(replace(ASKED, process="ra4")) == "bookings.unknown_process_for_station"
    assert code(processors=()) == "bookings.no_processor"


def test_the_safety_note_comes_before_the_chemistry() -> None:
    said = answer(processors=(replace(PROCESSOR, note_acknowledged=False),))
    assert isinstance(said, Refusal)
    assert (said.code, said.facts["processor_code"]) == ("bookings.note_not_acknowledged", "P-RC")


def test_a_second_processor_whose_note_was_read_serves() -> None:
    other = replace(PROCESSOR, code="P-RC2")
    assert answer(processors=(replace(PROCESSOR, note_acknowledged=False), other)) is other


def test_short_notice_waits_until_the_processor_can_be_warm() -> None:
    said = answer(processors=(replace(PROCESSOR, warm_at=at(2.5)),))
    assert isinstance(said, Refusal)
    assert (said.code, said.facts["warm_at"]) == ("bookings.not_warm", at(2.5))
    assert answer(processors=(replace(PROCESSOR, warm_at=at(2)),)) == replace(PROCESSOR, warm_at=at(2))


@pytest.mark.parametrize("taken", [span(1, 2.25), span(5, 6), span(3, 4), span(0, 9)])
def test_taken_counts_set_up_and_clear_up(taken: Span) -> None:
    station = replace(STATION, set_up=QUARTER, taken=[taken])
    assert code(station=station) == "bookings.taken"


def test_a_stay_may_begin_where_the_clear_up_of_another_ends() -> None:
    assert answer(station=replace(STATION, taken=[span(0, 2), span(5.25, 6)])) is PROCESSOR


def test_a_station_that_is_shut_says_so_and_not_taken() -> None:
    assert code(station=replace(STATION, shut=[span(1, 3)], taken=[span(1, 3)])) == "bookings.out_of_service"


def test_all_places_taken_at_one_instant_is_no_place() -> None:
    full = replace(PROCESSOR, lanes=[[span(0, 3)], [span(2.75, 9)]])
    assert code(processors=(full,)) == "bookings.no_place"
    assert answer(processors=(full, PROCESSOR)) is PROCESSOR
    changing = replace(PROCESSOR, lanes=[[span(0, 3)], [span(3, 9)]])
    assert answer(processors=(changing,)) is changing


def test_unlike_light_in_the_shared_zone_collides_only_while_the_person_is_there() -> None:
    assert code(station=replace(STATION, zone_name="Wet room", unlike_light=[span(4, 6)])) == "bookings.light"
    assert answer(station=replace(STATION, unlike_light=[span(5, 6)])) is PROCESSOR


def test_the_house_holds_so_many_heads_and_no_more() -> None:
    two = replace(HOUSE, others_in=[span(1, 3), span(2, 4)])
    assert answer(house=two) is PROCESSOR
    three = replace(HOUSE, others_in=[span(1, 3), span(2, 4), span(2.5, 6)])
    assert code(house=three) == "bookings.heads"
    assert answer(house=replace(three, heads_at_once=None)) is PROCESSOR


def test_the_grid_is_read_off_the_wall_clock() -> None:
    kathmandu = ZoneInfo("Asia/Kathmandu")  # UTC+05:45, IANA time zone database
    half_hour = timedelta(minutes=30)
    assert on_grid(datetime(2026, 11, 24, 12, 15, tzinfo=UTC), half_hour, kathmandu)
    assert not on_grid(datetime(2026, 11, 24, 12, 0, tzinfo=UTC), half_hour, kathmandu)
    assert not on_grid(datetime(2026, 11, 24, 12, 15, 1, tzinfo=UTC), half_hour, kathmandu)
