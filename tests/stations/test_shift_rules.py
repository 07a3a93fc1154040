"""Which shifts a week asks for, and who may do what with one.  Pure."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.stations.rules import Hours, Shut
from studiodesk.stations.rules import shifts as rules
from studiodesk.timekeeping import Span

ZONE = ZoneInfo("Europe/Amsterdam")
LONG_AGO = datetime(2026, 1, 1, tzinfo=UTC)
#: Open every day but Monday from 10:00 to 22:00.
HOURS = Hours({day: [(600, 1320)] for day in range(1, 7)})
HOUR = timedelta(hours=1)
NOW = datetime(2026, 11, 25, 14, tzinfo=UTC)


def walls(spans):
    """Each span as its local day with the two wall times."""
    local = [(one.starts.astimezone(ZONE), one.ends.astimezone(ZONE)) for one in spans]
    return [f"{a:%a %d %b %H:%M}-{b:%H:%M}" for a, b in local]


def plan(first, weeks=1, hours=HOURS, **given):
    return rules.planned(first, weeks, hours, ZONE, now=given.pop("now", LONG_AGO), **given)


# ---- planning ------------------------------------------------------------------------------------------------------


# Directive 2000/84/EC: summer time begins and ends at 01:00 UTC on the last Sundays of March and October.
@pytest.mark.parametrize(
    ("first", "before", "after"), [(date(2026, 3, 24), 9, 8), (date(2026, 10, 20), 8, 9)], ids=["March", "October"]
)
def test_a_week_is_planned_by_the_wall_clock_over_a_clock_change(first, before, after):
    made = plan(first, 2)
    assert len(made) == 12
    assert {wall.split()[-1] for wall in walls(made)} == {"10:00-22:00"}
    assert (made[0].starts.hour, made[-1].starts.hour) == (before, after)  # UTC


@pytest.mark.parametrize(
    ("first", "length", "half_way"), [(date(2026, 3, 29), 5, "03:30"), (date(2026, 10, 25), 7, "02:30")]
)
def test_a_shift_over_the_night_of_the_change_begins_and_ends_at_its_wall_times(first, length, half_way):
    """From midnight to 06:00 are five hours in March and seven in October; the parts are cut in hours that pass."""
    night = Hours({6: [(0, 360)]})
    (whole,) = plan(first, hours=night)
    assert (whole.length, walls([whole])[0][-11:]) == (length * HOUR, "00:00-06:00")
    cut = plan(first, hours=night, longest=4 * HOUR)
    assert all(one.length <= 4 * HOUR for one in cut) and sum((one.length for one in cut), timedelta()) == length * HOUR
    assert walls(cut)[0][-11:] == f"00:00-{half_way}"


def test_every_opening_span_is_a_shift_of_its_own_even_where_two_touch():
    hours = Hours({1: [(600, 840), (840, 1320)], 2: [(540, 720), (780, 1080)]})
    assert walls(plan(date(2026, 11, 24), hours=hours)) == [
        "Tue 24 Nov 10:00-14:00",
        "Tue 24 Nov 14:00-22:00",
        "Wed 25 Nov 09:00-12:00",
        "Wed 25 Nov 13:00-18:00",
    ]


def test_a_span_that_runs_over_midnight_is_one_shift_on_the_last_day_too():
    # 18:00 to 02:00 stands in the week as two spans that touch at midnight.
    hours = Hours({5: [(1080, 1440)], 6: [(0, 120)]})
    assert walls(plan(date(2026, 11, 28), hours=hours)) == ["Sat 28 Nov 18:00-02:00"]
    assert walls(plan(date(2026, 11, 22), hours=hours)) == ["Sun 22 Nov 00:00-02:00", "Sat 28 Nov 18:00-02:00"]


def test_a_house_that_never_closes_has_a_shift_a_day_and_not_one_without_end():
    made = plan(date(2026, 11, 23), hours=Hours({day: [(0, 1440)] for day in range(7)}))
    assert [one.length for one in made] == [24 * HOUR] * 7


def test_no_shift_is_planned_on_a_closed_day_nor_into_one():
    shut = (Shut(date(2026, 11, 25), date(2026, 11, 26)),)
    assert [wall[:10] for wall in walls(plan(date(2026, 11, 24), hours=Hours(HOURS.week, shut)))] == [
        "Tue 24 Nov",
        "Fri 27 Nov",
        "Sat 28 Nov",
        "Sun 29 Nov",
    ]
    night = Hours({1: [(1080, 1440)], 2: [(0, 120)]}, shut)
    assert walls(plan(date(2026, 11, 24), hours=night)) == ["Tue 24 Nov 18:00-00:00"]


def test_what_stands_is_left_alone_and_only_the_rest_is_planned():
    whole = plan(date(2026, 11, 24), 2)
    assert plan(date(2026, 11, 24), 2, standing=whole) == []
    assert plan(date(2026, 11, 24), 2, standing=whole[1:]) == whole[:1]
    tuesday = whole[0]
    half = Span(tuesday.starts, tuesday.starts + 4 * HOUR)
    assert walls(plan(date(2026, 11, 24), standing=[half, *whole[1:]])) == ["Tue 24 Nov 14:00-22:00"]
    nearly = Span(tuesday.starts, tuesday.ends - timedelta(minutes=20))
    assert plan(date(2026, 11, 24), standing=[nearly, *whole[1:]]) == []


def test_a_shift_that_would_have_begun_is_not_planned():
    assert walls(plan(date(2026, 11, 25), now=NOW))[0] == "Thu 26 Nov 10:00-22:00"


def test_long_hours_are_cut_into_as_few_even_parts_as_are_needed():
    assert walls(plan(date(2026, 11, 24), hours=Hours({1: [(780, 1320)]}), longest=5 * HOUR)) == [
        "Tue 24 Nov 13:00-17:30",
        "Tue 24 Nov 17:30-22:00",
    ]
    # 10:10 to 22:05 are 11 h 55: two parts of at most 6 hours, even to the quarter hour.
    odd = plan(date(2026, 11, 24), hours=Hours({1: [(610, 1325)]}), longest=6 * HOUR)
    assert walls(odd) == ["Tue 24 Nov 10:10-16:10", "Tue 24 Nov 16:10-22:05"]


@given(minutes=st.integers(30, 24 * 60), hours=st.integers(1, 24))
def test_parts_are_never_too_long_never_more_than_needed_and_leave_nothing_out(minutes, hours):
    span = Span(NOW, NOW + timedelta(minutes=minutes))
    parts = rules.cut(span, hours * HOUR)
    assert all(part.length <= hours * HOUR for part in parts)
    assert len(parts) <= -(-minutes // (60 * hours))
    assert parts[0].starts == span.starts and parts[-1].ends == span.ends
    assert all(one.ends == other.starts for one, other in pairwise(parts))


# ---- who may -------------------------------------------------------------------------------------------------------

SPAN = Span(NOW + 72 * HOUR, NOW + 80 * HOUR)
KIM = rules.Hand(1, is_keyholder=True)
TOOS = rules.Hand(2, is_tutor=True)
SEF = rules.Hand(3, is_staff=True)
ADRI = rules.Hand(4)
OPEN, KIMS = rules.Duty(SPAN), rules.Duty(SPAN, person=1)


def code(refusal):
    return refusal.code if refusal else None


@pytest.mark.parametrize(
    ("hand", "said"),
    [(KIM, None), (TOOS, None), (SEF, None), (ADRI, "stations.no_shifts_for")],
    ids=["keyholder", "tutor", "staff", "member"],
)
def test_keyholders_tutors_and_staff_may_take_a_shift_and_members_not(hand, said):
    assert code(rules.may_take(OPEN, hand, "X", [], NOW)) == said


def test_whoever_has_left_may_take_none():
    gone = rules.Hand(9, is_active=False, is_keyholder=True)
    assert code(rules.may_take(OPEN, gone, "X", [], NOW)) == "stations.no_shifts_for"


def test_a_shift_that_somebody_has_that_was_called_off_or_is_over_cannot_be_taken():
    assert code(rules.may_take(KIMS, TOOS, "Toos", [], NOW)) == "stations.shift_taken"
    off = rules.Duty(SPAN, called_off_at=NOW)
    assert code(rules.may_take(off, TOOS, "Toos", [], NOW)) == "stations.shift_called_off"
    assert code(rules.may_take(OPEN, TOOS, "Toos", [], SPAN.ends)) == "stations.shift_is_over"
    assert rules.may_take(OPEN, TOOS, "Toos", [], SPAN.ends - HOUR) is None  # stepping in half-way helps too


def test_nobody_has_two_shifts_at_one_time_but_one_after_the_other():
    before = Span(SPAN.starts - 4 * HOUR, SPAN.starts)
    into = Span(SPAN.starts - 4 * HOUR, SPAN.starts + HOUR)
    for may, duty in ((rules.may_take, OPEN), (rules.may_assign, OPEN)):
        assert may(duty, KIM, "Kim", [before], NOW) is None
        refusal = may(duty, KIM, "Kim", [before, into], NOW)
        assert code(refusal) == "stations.shifts_overlap" and refusal.facts["ends"] == into.ends


@pytest.mark.parametrize(
    ("left", "kim", "sef"),
    [
        (49 * HOUR, None, None),
        (48 * HOUR, "stations.shift_too_near", None),
        (-HOUR, "stations.shift_too_near", None),
    ],
)
def test_one_gives_back_until_48_hours_before_and_staff_at_any_time(left, kim, sef):
    assert code(rules.may_give_back(KIMS, KIM, SPAN.starts - left)) == kim
    assert code(rules.may_give_back(KIMS, SEF, SPAN.starts - left)) == sef


def test_nobody_gives_back_what_is_not_theirs_or_nobody_s():
    assert code(rules.may_give_back(KIMS, TOOS, NOW)) == "stations.shift_not_yours"
    assert code(rules.may_give_back(OPEN, SEF, NOW)) == "stations.shift_has_nobody"
    assert code(rules.may_give_back(KIMS, SEF, SPAN.ends)) == "stations.shift_is_over"


def test_a_shift_is_taken_over_only_from_whoever_asks_and_not_from_oneself():
    offered = rules.Duty(SPAN, person=1, offered_by=1)
    assert rules.may_take_over(offered, TOOS, "Toos", [], SPAN.starts - HOUR) is None
    assert code(rules.may_take_over(offered, KIM, "Kim", [], NOW)) == "stations.swap_is_your_own"
    assert code(rules.may_take_over(KIMS, TOOS, "Toos", [], NOW)) == "stations.swap_is_over"
    assert code(rules.may_take_over(offered, ADRI, "Adri", [], NOW)) == "stations.no_shifts_for"
    assert code(rules.may_ask_swap(KIMS, TOOS, NOW)) == "stations.shift_not_yours"
    begun = rules.Duty(SPAN, person=1, began_at=SPAN.starts)
    assert code(rules.may_ask_swap(begun, KIM, SPAN.starts + HOUR)) == "stations.shift_has_begun"


@pytest.mark.parametrize(
    ("holder", "by", "said"),
    [
        (TOOS, TOOS, None),
        (TOOS, SEF, None),
        (KIM, SEF, "stations.cannot_supervise"),
        (None, SEF, "stations.shift_has_nobody"),
        (TOOS, KIM, "stations.shift_not_yours"),
    ],
)
def test_only_a_tutor_or_staff_is_there_for_beginners(holder, by, said):
    duty = rules.Duty(SPAN, person=holder.pk if holder else None)
    assert code(rules.may_supervise(duty, holder, by, "X", NOW)) == said


def test_a_shift_begins_from_half_an_hour_before_until_half_an_hour_after():
    minute = timedelta(minutes=1)
    assert code(rules.may_begin(KIMS, KIM, SPAN.starts - 31 * minute)) == "stations.shift_not_yet"
    assert rules.may_begin(KIMS, KIM, SPAN.starts - 30 * minute) is None
    assert rules.may_begin(KIMS, KIM, SPAN.ends + 30 * minute) is None
    assert code(rules.may_begin(KIMS, KIM, SPAN.ends + 31 * minute)) == "stations.shift_is_over"
    assert code(rules.may_begin(KIMS, TOOS, SPAN.starts)) == "stations.shift_not_yours"
    assert code(rules.may_end(KIMS, KIM)) == "stations.shift_not_begun"


def test_a_note_is_written_from_half_an_hour_before_the_shift_until_a_day_after_it():
    assert code(rules.may_hand_over(KIMS, KIM, SPAN.starts - HOUR)) == "stations.shift_not_yet"
    assert rules.may_hand_over(KIMS, KIM, SPAN.ends + 24 * HOUR) is None
    assert code(rules.may_hand_over(KIMS, KIM, SPAN.ends + 25 * HOUR)) == "stations.note_too_late"
    assert rules.may_hand_over(KIMS, SEF, SPAN.ends) is None
    assert code(rules.may_hand_over(KIMS, TOOS, SPAN.ends)) == "stations.shift_not_yours"


@pytest.mark.parametrize(
    ("left", "week", "two_days"),
    [
        (8 * 24, False, False),
        (7 * 24, True, False),
        (49, True, False),
        (48, False, True),
        (1, False, True),
        (0, False, False),
    ],
)
def test_an_uncovered_shift_is_due_at_seven_days_and_at_48_hours_and_not_at_both_at_once(left, week, two_days):
    now = SPAN.starts - left * HOUR
    assert rules.is_due(SPAN.starts, rules.OPEN_7D, now) is week
    assert rules.is_due(SPAN.starts, rules.OPEN_48H, now) is two_days
