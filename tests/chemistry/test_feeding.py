"""What may be logged through a processor, and what may be taken back."""

from datetime import UTC, datetime, timedelta

import pytest

from studiodesk.chemistry.rules.feeding import MOST_SHEETS, Feeder, Sheet, counted_area_mm2, may_log, may_undo
from studiodesk.chemistry.words import HOW_MANY

NOW = datetime(2026, 3, 2, 18, tzinfo=UTC)
FEEDER = Feeder("RC processor", 508, 100)


def answer(width=203, length=254, sheets=1, fed_at=NOW, on_tablet=True, feeder=FEEDER):
    refusal = may_log(feeder, Sheet("a size", width, length), sheets, fed_at, NOW, on_tablet=on_tablet)
    return refusal.code if refusal else None


@pytest.mark.parametrize(
    ("width", "length", "code"),
    [
        (508, 610, None),  # as wide as the feed is allowed
        (610, 508, None),  # which side is called width does not matter
        (509, 610, "chemistry.too_wide"),
        (50, 203, None),  # a strip goes in lengthwise
        (50, 100, None),
        (50, 99, "chemistry.too_short"),
    ],
)
def test_the_narrow_edge_goes_across_and_the_long_edge_along_the_feed(width, length, code):
    assert answer(width=width, length=length) == code


@pytest.mark.parametrize(
    ("sheets", "code"),
    [(0, "chemistry.no_sheets"), (-1, "chemistry.no_sheets"), (1, None), (10_000, None),
     (10_001, "chemistry.too_many_sheets")],
)  # fmt: skip
def test_sheets_are_some_and_not_absurdly_many(sheets, code):
    assert answer(sheets=sheets) == code


def test_nothing_is_logged_ahead_and_a_tablet_looks_back_one_day():
    assert answer(fed_at=NOW + timedelta(seconds=1)) == "chemistry.in_the_future"
    assert answer(fed_at=NOW - timedelta(hours=24)) is None
    assert answer(fed_at=NOW - timedelta(hours=24, seconds=1)) == "chemistry.too_long_ago"
    assert answer(fed_at=NOW - timedelta(days=90), on_tablet=False) is None


def test_cleaning_sheets_count_nothing_and_all_else_counts_borders_and_all():
    sheet = Sheet("8×10 in", 203, 254)
    assert counted_area_mm2(sheet, "cleaning") == 0
    for kind in ("print", "test strip", "reject", "control strip", "house"):
        assert counted_area_mm2(sheet, kind) == 51_562


def undo(**changed):
    asked = {"is_their_last": True, "already_undone": False, "recorded_at": NOW - timedelta(minutes=15), "now": NOW,
             "on_tablet": True, "same_day": True} | changed  # fmt: skip
    refusal = may_undo(**asked)
    return refusal.code if refusal else None


def test_a_tablet_takes_back_its_last_log_for_a_quarter_of_an_hour():
    assert undo() is None
    assert undo(recorded_at=NOW - timedelta(minutes=15, seconds=1)) == "chemistry.too_late_to_undo"
    assert undo(is_their_last=False) == "chemistry.too_late_to_undo"
    assert undo(already_undone=True) == "chemistry.already_undone"


def test_the_desk_takes_back_anything_of_today():
    assert undo(on_tablet=False, is_their_last=False, recorded_at=NOW - timedelta(hours=6)) is None
    assert undo(on_tablet=False, same_day=False) == "chemistry.not_of_today"


def test_a_row_of_a_file_is_taken_back_by_nobody():
    assert undo(on_tablet=False, from_a_file=True) == "chemistry.from_a_file"
    assert undo(from_a_file=True) == "chemistry.from_a_file"


def test_the_sentence_about_the_count_names_the_limit_that_is_kept():
    assert f"1 to {MOST_SHEETS:,}." in str(HOW_MANY)
