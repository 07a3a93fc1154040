"""The sums behind the look: widths that never gap, heights by doublings, tones, careful rounding."""

from datetime import timedelta
from decimal import Decimal
from itertools import pairwise
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.templatetags import look_format as sums

from .samples import ZONE, at, stretch


@given(st.lists(st.integers(min_value=1, max_value=600), min_size=1, max_size=30))
def test_pieces_off_the_five_minute_grid_still_fill_the_day_without_gap_or_overlap(minutes):
    edges = [at(0)]
    for length in minutes:
        edges.append(edges[-1] + timedelta(minutes=length))
    widths = [sums.quanta(a, b, edges[0]) for a, b in pairwise(edges)]
    if sum(minutes) <= 1500:
        assert sum(widths) == sums.quanta(edges[0], edges[-1], edges[0])


@pytest.mark.parametrize(
    ("minutes", "height"),
    [(5, 0), (15, 0), (29, 0), (30, 1), (60, 2), (119, 2), (120, 3), (240, 4), (480, 5), (1500, 6)],
)
def test_a_piece_grows_by_doublings_of_its_length(minutes, height):
    assert sums.height_class(timedelta(minutes=minutes)) == height


def test_a_sliver_keeps_a_width_and_a_longest_day_has_one():
    piece = SimpleNamespace(starts=at(10), ends=at(10, 1))
    long = SimpleNamespace(starts=at(10, 1), ends=at(10) + timedelta(hours=25))
    assert [place.quanta for place in sums.places([piece, long])] == [1, 300]
    assert sums.places([]) == []


def test_the_classes_of_a_place_name_width_share_and_height():
    pieces = [stretch(at(10), at(13), "taken"), stretch(at(13), at(22), "free")]
    assert [place.classes for place in sums.places(pieces)] == ["t36 w5 h3", "t108 w5 h5"]


@pytest.mark.parametrize(
    ("free", "of", "tone"),
    [
        (8, 8, "s0"),
        (5, 8, "s1"),
        (4, 8, "s2"),
        (3, 8, "s2"),
        (2, 8, "s3"),
        (1, 8, "s3"),
        (0, 8, "s4"),
        (0, 0, "closed"),
    ],
)
def test_fewer_free_is_a_darker_tone(free, of, tone):
    assert sums.tone(free, of) == tone


def test_the_card_ends_where_day_lines_end_theirs():
    drawn = [stretch(at(10), at(12), "free"), stretch(at(12), at(22), "free")]
    assert sums.covered(drawn, at(14, 7)) == (at(10), at(14, 10))
    assert sums.covered(drawn, at(14, 10)) == (at(10), at(14, 10))
    assert sums.covered(drawn, at(23)) == (at(10), at(22))
    assert sums.covered(drawn, at(10)) is None
    assert sums.covered(drawn, None) is None
    assert sums.covered([], at(14)) is None


def test_past_neighbours_lie_under_one_card():
    past = [stretch(at(10), at(11), "past", free=2, of=4), stretch(at(11), at(12), "past", free=1, of=4)]
    joined = sums.one_past([*past, stretch(at(12), at(22), "free")])
    assert [(p.starts, p.ends, p.what) for p in joined] == [(at(10), at(12), "past"), (at(12), at(22), "free")]


def test_the_hour_scale_starts_and_ends_off_the_hour():
    cells = sums.hour_cells(at(10, 30), at(12, 15))
    assert [(c.hour, wide, whole) for c, wide, whole in cells] == [(10, 6, False), (11, 12, True), (12, 3, True)]


@pytest.mark.parametrize(
    ("day", "hours"),
    # European clock changes of 2026: last Sundays of March and October (Directive 2000/84/EC).
    [((2026, 3, 29), [0, 1, 3, 4]), ((2026, 10, 25), [0, 1, 2, 2, 3, 4])],
)
def test_the_hour_scale_tells_clock_changes_as_they_are(day, hours):
    year, month, number = day
    starts = at(0).replace(year=year, month=month, day=number)
    ends = starts.replace(hour=5)
    cells = sums.hour_cells(starts, ends)
    assert [cell.hour for cell, _wide, _whole in cells] == hours
    assert [wide for _cell, wide, _whole in cells] == [12] * len(hours)
    assert starts.tzinfo is ZONE


def test_percent_is_rounded_down_but_not_by_the_machine():
    assert sums.whole_percent(0.999) == 99
    assert sums.whole_percent(0.29) == 29  # 0.29 × 100 is 28.999… in binary
    assert sums.whole_percent(0.57) == 57
    assert sums.whole_percent(1.0) == 100
    assert sums.whole_percent(1.125) == 112
    assert sums.whole_percent(1e-7) == 0


@given(st.integers(min_value=-(10**15), max_value=10**15))
def test_a_shown_amount_is_never_off_by_more_than_half_its_last_digit(pl):
    assert abs(sums.rounded(pl, sums.PL_PER_ML, 1) - Decimal(pl) / sums.PL_PER_ML) <= Decimal("0.05")


def test_a_bath_fills_its_ten_steps_one_by_one():
    assert [full for _n, full in sums.fill_cells(0.0)] == [0.0] * 10
    assert [full for _n, full in sums.fill_cells(0.63)] == [1.0] * 6 + [0.3] + [0.0] * 3
    assert [full for _n, full in sums.fill_cells(1.4)] == [1.0] * 10


@pytest.mark.parametrize(
    ("used", "word", "shape"),
    [(0.0, "new", "square"), (0.79, "in use", "square"), (0.8, "tired", "triangle"), (1.0, "spent", "octagon")],
)
def test_a_bath_shows_its_state_by_a_shape(used, word, shape):
    assert sums.bath_glyph(used, word) == shape


def test_each_known_kind_has_a_notch_of_its_own_and_an_unknown_one_always_the_same():
    known = [sums.notch_path(kind)[0] for kind in sums.KNOWN_KINDS]
    assert len(set(known)) == len(known)
    assert sums.notch_path("Copy stand ") == sums.notch_path("copy stand")
    assert sums.notch_path("copy stand")[0] not in known
    assert sums.notch_path("RC processor") == sums.notch_path("processor")
