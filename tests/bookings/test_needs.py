"""Needs: how formats are read, which stations are made for what, which days suit, and what is kept of a need."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.bookings.rules.formats import Frame, frame, is_large, same_format, smallest_first
from studiodesk.bookings.rules.needs import Need, Traits, fits, need_from_json, need_to_json, suits, window
from studiodesk.timekeeping import Span

ZONE = ZoneInfo("Europe/Amsterdam")
BOOTH = Traits(
    code="E4",
    kind="enlarger booth",
    formats=("35 mm", "6×7", "4×5 in"),
    light_source="Colour head",
    has_colour_filters=True,
    largest_print_mm=(406, 508),
    step_free=True,
    bench_height_mm=850,
    processes=frozenset({"rc", "ra4"}),
    feed_widths={"rc": 508, "ra4": 305},
)
SCANNER = Traits(code="S1", kind="scanning station", formats=("35 mm",))


@pytest.mark.parametrize(
    ("written", "short", "long"),
    [
        # 24 × 36 mm on film 35 mm wide: ISO 1007; the others as they are sold (common practice)
        ("35 mm", 24, 36),
        ("35mm", 24, 36),
        ("6×7", 60, 70),
        ("7 x 6 cm", 60, 70),
        ("6 x 4,5", 45, 60),
        ("4×5 in", 102, 127),
        ("4x5", 102, 127),
        ('8×10"', 203, 254),
        ("13×18 cm", 130, 180),
        ("90×120 mm", 90, 120),
    ],
)
def test_formats_are_read_however_people_write_them(written: str, short: int, long: int) -> None:
    assert frame(written) == Frame(short, long)


def test_what_is_no_format_is_compared_as_text_and_comes_last() -> None:
    assert frame("glass plates") is None
    assert same_format("Glass  plates", "glass plates")
    assert not same_format("glass plates", "6×7")
    assert smallest_first(["glass plates", "4×5 in", "6x7", "35 mm", "6×7"]) == [
        "35 mm",
        "6x7",
        "4×5 in",
        "glass plates",
    ]


def test_large_begins_at_nine_by_twelve_centimetres() -> None:
    assert [is_large(one) for one in ("6×9", "9×12 cm", "4×5 in", "6×17", "odd")] == [False, True, True, False, False]


def test_a_holder_for_large_negatives_takes_small_ones_only_where_they_are_listed() -> None:
    need = Need(process="rc", negative="6×6")
    assert fits(BOOTH, need) == ("negative",)
    assert fits(replace(BOOTH, formats=(*BOOTH.formats, "6x6 cm")), need) == ()
    assert fits(replace(BOOTH, formats=("8×10 in",)), replace(need, negative="35 mm")) == ("negative",)


@pytest.mark.parametrize(
    ("need", "unmet"),
    [
        (Need(process="rc"), ()),
        (Need(process="fb"), ("process",)),
        (Need(kind="enlarger booth"), ("process",)),
        (Need(process="rc", kind="studio"), ("kind",)),
        (Need(process="rc", negative="4x5"), ()),
        (Need(process="rc", large_format=True), ()),
        (Need(process="rc", print_mm=(406, 508)), ()),
        (Need(process="rc", print_mm=(410, 500)), ("print",)),
        (Need(process="rc", print_mm=(300, 600)), ("print",)),
        # The narrow edge goes in first: 305 mm wide paper passes a feed of 305 mm however long it is.
        (Need(process="ra4", print_mm=(305, 406)), ()),
        (Need(process="ra4", print_mm=(306, 406)), ("feed_width",)),
        (Need(process="rc", light_source="colour head"), ()),
        (Need(process="rc", light_source="condenser"), ("light_source",)),
        (Need(process="rc", colour_filters=True), ()),
        (Need(process="rc", step_free=True), ()),
        (Need(process="rc", bench_mm=(800, 850)), ()),
        (Need(process="rc", bench_mm=(600, 800)), ("bench",)),
    ],
)
def test_a_station_is_made_for_a_need_or_says_what_it_misses(need: Need, unmet: tuple[str, ...]) -> None:
    assert fits(BOOTH, need) == unmet


def test_what_nobody_noted_of_a_station_is_not_promised() -> None:
    bare = replace(BOOTH, step_free=False, bench_height_mm=None, has_colour_filters=False, largest_print_mm=None)
    wishes = Need(process="rc", step_free=True, bench_mm=(1, 3000), colour_filters=True, print_mm=(500, 900))
    assert fits(bare, wishes) == ("colour_filters", "step_free", "bench")


def test_a_scanner_is_found_without_a_process_and_only_so() -> None:
    assert fits(SCANNER, Need(kind="scanning station", negative="35mm")) == ()
    assert fits(SCANNER, Need(process="rc")) == ("process",)


needs = st.builds(
    Need,
    negative=st.sampled_from(["", "6×7", "35 mm"]),
    process=st.sampled_from(["", "rc"]),
    kind=st.sampled_from(["", "scanning station"]),
    print_mm=st.none() | st.tuples(st.integers(1, 400), st.integers(400, 800)),
    light_source=st.sampled_from(["", "condenser"]),
    colour_filters=st.booleans(),
    beside=st.booleans(),
    step_free=st.booleans(),
    bench_mm=st.none() | st.tuples(st.integers(1, 400), st.integers(400, 800)),
    large_format=st.booleans(),
    length=st.integers(5, 720),
    weekdays=st.sets(st.integers(0, 6)).map(lambda days: tuple(sorted(days))),
    first_day=st.none() | st.dates(date(2026, 1, 1), date(2027, 1, 1)),
    last_day=st.none() | st.dates(date(2026, 1, 1), date(2027, 1, 1)),
    not_before=st.none() | st.integers(0, 1440),
    not_after=st.none() | st.integers(0, 1440),
    kit=st.lists(st.tuples(st.sampled_from(["TANK", "LENS-80"]), st.integers(1, 9)), max_size=2).map(tuple),
)


@given(needs)
def test_a_need_that_is_kept_is_read_back_as_it_was(need: Need) -> None:
    assert need_from_json(need_to_json(need)) == need


@pytest.mark.parametrize("kept", [None, [], "x", {"length": "long", "kit": [1], "print_mm": [1, 2, 3], "step_free": 1}])
def test_what_cannot_be_read_of_a_kept_need_is_open(kept: object) -> None:
    assert need_from_json(kept) == Need()


def at(day: int, hour: int, minute: int = 0) -> datetime:
    return datetime.combine(date(2026, 11, day), time(hour, minute), ZONE).astimezone(UTC)


@pytest.mark.parametrize(
    ("need", "starts", "ends", "expected"),
    [
        (Need(), at(26, 13), at(26, 15), True),
        (Need(), at(26, 23), at(27, 1), True),
        (Need(weekdays=(3,)), at(26, 13), at(26, 15), True),  # a Thursday
        (Need(weekdays=(2, 4)), at(26, 13), at(26, 15), False),
        (Need(first_day=date(2026, 11, 27)), at(26, 13), at(26, 15), False),
        (Need(last_day=date(2026, 11, 26)), at(26, 13), at(26, 15), True),
        (Need(last_day=date(2026, 11, 25)), at(26, 13), at(26, 15), False),
        (Need(not_before=18 * 60), at(26, 17, 45), at(26, 19, 45), False),
        (Need(not_before=18 * 60), at(26, 18), at(26, 20), True),
        (Need(not_after=15 * 60), at(26, 13), at(26, 15), True),
        (Need(not_after=15 * 60), at(26, 13, 15), at(26, 15, 15), False),
        (Need(not_before=22 * 60, not_after=60), at(26, 23), at(27, 1), True),
        (Need(not_before=22 * 60, not_after=60), at(26, 23, 15), at(27, 1, 15), False),
    ],
)
def test_a_stay_suits_by_day_and_clock(need: Need, starts: datetime, ends: datetime, expected: bool) -> None:
    assert suits(Span(starts, ends), need, ZONE) is expected


def test_the_hours_that_suit_follow_the_wall_clock_over_a_clock_change() -> None:
    """The last Sunday of October: 25 hours long (Directive 2000/84/EC)."""
    found = window(date(2026, 10, 25), Need(not_before=60, not_after=5 * 60), ZONE)
    assert found is not None
    assert found.length == timedelta(hours=5)
