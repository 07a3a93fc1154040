"""Reading one value: what is taken, what is refused, and that nothing is rounded or guessed on the way."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.answers import Refused
from studiodesk.upkeep.rules import cells
from studiodesk.upkeep.rules.history import silver_ug_per_l
from studiodesk.upkeep.rules.hours_file import minutes_span
from studiodesk.upkeep.rules.problems import shown


def refused(parse: Any, value: Any, *rest: Any) -> str:
    """The code with which it is refused; "" if it is taken."""
    try:
        parse(value, *rest)
    except Refused as no:
        return no.refusal.code.removeprefix("upkeep.")
    return ""


@pytest.mark.parametrize(
    ("written", "code"),
    [
        ("", "not_a_number"),
        ("five", "not_a_number"),
        ("1,5", "not_a_number"),
        ("1_000", "not_a_number"),
        ("٣", "not_a_number"),
        ("0x10", "not_a_number"),
        (True, "not_a_number"),
        ([1], "not_a_number"),
        ("NaN", "not_finite"),
        ("-inf", "not_finite"),
        ("∞", "not_finite"),
        ("Infinity", "not_finite"),
        (float("nan"), "not_finite"),
        (Decimal("inf"), "not_finite"),
        ("-1", "negative"),
        ("1e309", "too_large"),
        ("1e9999", "too_large"),
        ("1e99999", "not_a_number"),
        (10**400, "too_large"),
        ("9" * 61, "not_a_number"),
    ],
)
def test_what_is_no_finite_number_in_range_is_refused_with_its_reason(written: Any, code: str) -> None:
    assert refused(cells.number, written, 0, 1000) == code


@given(st.decimals(min_value=0, max_value=1000, allow_nan=False, allow_infinity=False, places=6))
def test_a_number_is_the_one_that_was_written(value: Decimal) -> None:
    assert cells.number(str(value), 0, 1000) == value
    assert cells.number(f" {value} ", 0, 1000) == value


@given(st.text(max_size=30))
def test_no_text_makes_the_reader_of_numbers_or_times_stumble(written: str) -> None:
    for parse in (
        lambda text: cells.number(text, 0, 10),
        cells.sheets,
        cells.moment,
        cells.day,
        cells.email,
        minutes_span,
    ):
        refused(parse, written)


@pytest.mark.parametrize(
    ("written", "code"),
    [("1.5", "not_whole"), ("0", "too_small"), ("-3", "negative"), ("10001", "too_large"), ("∞", "not_finite")],
)
def test_sheets_are_whole_and_between_one_and_ten_thousand(written: str, code: str) -> None:
    assert refused(cells.sheets, written) == code


@pytest.mark.parametrize(("written", "number"), [("1", 1), ("10000", 10_000), ("2.0", 2), ("+4", 4), (" 7 ", 7)])
def test_whole_sheets_are_taken_however_they_are_written(written: str, number: int) -> None:
    assert cells.sheets(written) == number


@pytest.mark.parametrize(
    "written",
    [
        "2026-08-04T15:15:00Z",
        "2026-08-04T17:15:00+02:00",
        "2026-08-04T15:15:00z",
        "2026-08-04 15:15Z",
        "20260804T151500Z",
        "2026-08-04T20:45+05:30",
        "2026-W32-2T15:15:00Z",
    ],
)
def test_one_moment_in_the_ways_that_iso_8601_writes_it(written: str) -> None:
    """Date and time of ISO 8601-1:2019: extended and basic form, week dates, offsets of hours and minutes."""
    assert cells.moment(written) == datetime(2026, 8, 4, 15, 15, tzinfo=UTC)
    assert cells.moment(written).utcoffset() == timedelta(0)


@pytest.mark.parametrize(
    ("written", "code"),
    [
        ("2026-08-04T15:15:00", "no_offset"),
        ("2026-08-04", "not_a_time"),
        ("04/08/2026 15:15", "not_a_time"),
        ("2026-13-04T15:15:00Z", "not_a_time"),
        ("2026-02-30T15:15:00Z", "not_a_time"),
        ("2026-08-04T25:00:00Z", "not_a_time"),
        ("2026-08-04T15:15:00.1234567Z", "not_a_time"),
        ("2026-08-04T15:15:00 Europe/Amsterdam", "not_a_time"),
        ("0001-01-01T00:00:00+14:00", "implausible_year"),
        ("9999-12-31T23:59:59-14:00", "implausible_year"),
        ("now", "not_a_time"),
    ],
)
def test_a_time_without_its_offset_or_out_of_reach_is_refused(written: str, code: str) -> None:
    assert refused(cells.moment, written) == code


@given(
    st.datetimes(min_value=datetime(1901, 1, 1), max_value=datetime(2199, 12, 30)),
    st.integers(min_value=-14 * 60, max_value=14 * 60),
)
def test_any_offset_gives_the_same_instant(naive: datetime, minutes: int) -> None:
    there = naive.replace(tzinfo=UTC).astimezone(timezone(timedelta(minutes=minutes)))
    assert cells.moment(there.isoformat()) == naive.replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("written", "code"), [("4.8.2026", "not_a_date"), ("2026-02-29", "not_a_date"), (3, "not_a_date")]
)
def test_what_is_no_date_is_refused(written: Any, code: str) -> None:
    assert refused(cells.day, written) == code
    assert cells.day("2024-02-29") == date(2024, 2, 29)


@pytest.mark.parametrize(
    "address", ["no at", "a@b@c.org", "@example.org", "a@", "a b@example.org", "a@-x.org", "ä@example.org"]
)
def test_what_is_no_address_is_refused(address: str) -> None:
    assert refused(cells.email, address) == "not_an_address"
    assert cells.email("Saar.van-Dijk+studio@example.org") == "Saar.van-Dijk+studio@example.org"


def test_names_may_be_in_any_script_and_hold_no_control_signs() -> None:
    for name in ("Saar", "Ólafur Þór", "久美子", "ناهید", "Žofie", "🎞", "O’Neill, the younger"):
        assert cells.text(name) == name
    for name in ("a\0b", "a\nb", "a\x1b[31mb", "\x85"):
        assert refused(cells.text, f"x{name}x") == "control_sign"
    assert refused(cells.text, "x" * 121) == "too_long_text"
    assert refused(cells.text, "  ") == "needed"


def test_what_is_quoted_from_a_file_cannot_play_with_the_terminal() -> None:
    assert shown("a\x1b[31m\nb") == "a\\x1b[31m\\x0ab"
    assert len(shown("x" * 1000)) == 60


@pytest.mark.parametrize(
    ("written", "minutes"),
    [
        ("13:00-22:00", (780, 1320)),
        ("0:00-24:00", (0, 1440)),
        ("09:30 – 12:15", (570, 735)),
        ("18:00-02:00", (1080, 1560)),
        ("22:00-00:00", (1320, 1440)),
    ],
)
def test_opening_hours_are_minutes_after_midnight(written: str, minutes: tuple[int, int]) -> None:
    assert minutes_span(written) == minutes


@pytest.mark.parametrize(
    ("written", "code"),
    [
        ("13-22", "not_opening_hours"),
        ("13:00", "not_opening_hours"),
        ("24:00-25:00", "not_opening_hours"),
        ("10:60-12:00", "not_opening_hours"),
        ("24:00-24:00", "not_opening_hours"),
        ("10:00-10:00", "empty_hours"),
        (1300, "not_opening_hours"),
    ],
)
def test_what_are_no_opening_hours_is_refused(written: Any, code: str) -> None:
    assert refused(minutes_span, written) == code


@pytest.mark.parametrize(
    ("letters", "digits"),
    # ISO 4217:2015, list one, the column "minor unit" (from memory).
    [("EUR", 2), ("GBP", 2), ("JPY", 0), ("ISK", 0), ("KWD", 3), ("TND", 3), ("UYW", 4)],
)
def test_a_currency_has_the_decimals_of_iso_4217(letters: str, digits: int) -> None:
    assert cells.currency(letters) == letters
    assert cells.currency_digits(letters) == digits


def test_zones_are_those_of_the_iana_list_and_nothing_else() -> None:
    for name in ("Europe/Amsterdam", "Australia/Lord_Howe", "UTC"):
        assert cells.zone_name(name) == name
    for name in ("Europe/Nowhere", "CEST", "../../etc/passwd", "/usr/share/zoneinfo/UTC", "europe/amsterdam "):
        assert refused(cells.zone_name, name) == "unknown_zone"


@pytest.mark.parametrize(
    ("note", "micrograms"),
    [
        ("fixer read 1.4 g/L", 1_400_000),
        ("1,4 g/l", 1_400_000),
        ("850 mg/L after the class", 850_000),
        ("0.05g/L", 50_000),
        ("no colour", None),
        ("between 1.0 g/L and 1.5 g/L", None),
        ("1.4 g", None),
        ("5 kg/L", None),
    ],
)
def test_the_silver_of_a_strip_is_read_from_its_note_if_one_figure_stands_there(
    note: str, micrograms: int | None
) -> None:
    assert silver_ug_per_l(note) == micrograms
