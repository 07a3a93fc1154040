"""Where the parts of a bath's fan go, and that the table beside it says the same."""

import itertools
import re
from datetime import UTC, date, datetime, timedelta
from types import SimpleNamespace
from zoneinfo import ZoneInfo

import pytest

from studiodesk.planning.rules import fan, fan_facts
from studiodesk.planning.rules.fan import PLOT, TOP, FanFacts

ZONE = ZoneInfo("Europe/Amsterdam")
#: Tuesday, noon in Amsterdam.
NOW = datetime(2026, 3, 3, 11, tzinfo=UTC)
SHARES = {0.025: 0.25, 0.1: 0.5, 0.25: 0.75, 0.5: 1.0, 0.75: 1.25, 0.9: 1.5, 0.975: 1.75}


def facts(days=26, p90=date(2026, 3, 21), a_day=0.01, start=0.4, **changed):
    """A middle that adds a hundredth of the limit a day to the 40 % that are used now."""
    all_days = [date(2026, 3, 3) + timedelta(days=n) for n in range(days)]
    given = {
        "days": all_days,
        "bands": {share: [start + a_day * k * (n + 1) for n in range(days)] for share, k in SHARES.items()},
        "chance": [min(1.0, (n + 1) / 20) for n in range(days)],
        "recorded": [(NOW - timedelta(days=20), 0.0), (NOW - timedelta(days=10), 0.25), (NOW, start)],
        "closed": set(),
        "age_day": None,
        "limit": "capacity",
        "row": SimpleNamespace(p90=p90, age_ends_at=None),
    } | changed
    return FanFacts(**given)


def points(path):
    return [tuple(map(float, pair)) for pair in re.findall(r"(-?[\d.]+) (-?[\d.]+)", path)]


def test_a_place_down_is_the_share_of_the_limit_and_120_percent_is_the_top():
    made = fan.drawn(facts(), NOW, ZONE)
    assert made.limit == pytest.approx(TOP + PLOT / 6, abs=0.1)  # 100 of 120 %
    assert made.height == TOP + PLOT + fan.BOTTOM
    start = points(made.middle)[0]
    assert start[1] == pytest.approx(TOP + PLOT * (1 - 0.4 / 1.2), abs=0.1)
    assert [word.value for word in made.scale] == [0.5, 1.0]


def test_time_runs_from_the_past_of_this_tank_to_the_last_day_that_is_shown():
    made = fan.drawn(facts(), NOW, ZONE)
    # From 3 March to 28 March are 26 days (25.54 from noon on); 20 days are behind.
    assert made.shown == 26
    assert made.now.x == pytest.approx(100 * 20 / 45.5, abs=0.1)
    line = points(made.middle)
    assert line[0][0] == pytest.approx(made.now.x * 10, abs=0.2) and line[-1][0] == pytest.approx(1000, abs=0.1)
    assert all(a < b for (a, _), (b, _) in itertools.pairwise(line))


def test_a_far_past_is_cut_off_and_a_young_tank_leaves_room_for_the_words_of_the_scale():
    old = facts(recorded=[(NOW - timedelta(days=300), 0.0), (NOW - timedelta(days=200), 0.2), (NOW, 0.4)])
    made = fan.drawn(old, NOW, ZONE)
    assert made.now.x == pytest.approx(60, abs=0.1)  # half as much again behind as ahead
    assert points(made.recorded)[0] == (0, pytest.approx(TOP + PLOT * (1 - 0.2 / 1.2), abs=0.1))
    young = fan.drawn(facts(recorded=[(NOW, 0.4)]), NOW, ZONE)
    assert young.now.x == pytest.approx(18, abs=0.1)


def test_each_band_lies_inside_the_wider_one_and_the_middle_inside_all():
    made = fan.drawn(facts(), NOW, ZONE)
    assert [wide for wide, _ in made.bands] == [95, 80, 50]  # the widest is drawn first
    ends = {}
    for wide, path in made.bands:
        assert path.startswith("M") and path.endswith("Z")
        corners = points(path)
        ends[wide] = (corners[len(corners) // 2 - 1][1], corners[len(corners) // 2][1])  # low, high at the last day
    middle = points(made.middle)[-1][1]
    assert ends[95][0] > ends[80][0] > ends[50][0] > middle > ends[50][1] > ends[80][1] > ends[95][1]


def test_what_goes_beyond_the_drawing_leaves_it_at_its_upper_edge():
    """Nothing is drawn outside: a screen reader's or a checker's idea of what covers what would be wrong."""
    steep = fan.drawn(facts(a_day=0.1), NOW, ZONE)
    for path in [path for _, path in (*steep.bands, *steep.edges)] + [steep.middle, steep.recorded]:
        assert all(TOP <= y <= TOP + PLOT for _, y in points(path))
    # 40 % and 10 % a day: 120 % at the end of the eighth day, seven and a half days from now.
    x, y = points(steep.middle)[-1]
    assert y == TOP and x == pytest.approx(10 * steep.now.x + (7 + 12 / 24) * 1000 / 45.54, abs=1)
    assert points(steep.bands[0][1])[-1][1] > TOP  # the band itself runs on, along the edge
    spent = fan.drawn(facts(start=1.5, recorded=[(NOW, 1.5)]), NOW, ZONE)
    assert {y for _, y in points(spent.middle)} == {TOP}


def test_the_recorded_line_goes_in_steps_and_ends_now():
    made = fan.drawn(facts(), NOW, ZONE)
    line = points(made.recorded)
    assert line[0][1] == pytest.approx(TOP + PLOT) and line[-1][0] == pytest.approx(made.now.x * 10, abs=0.2)
    for (x1, y1), (x2, y2) in itertools.pairwise(line):
        assert x1 == x2 or y1 == y2


def test_thousands_of_sheets_are_no_more_points_than_can_be_told_apart():
    many = [(NOW - timedelta(days=20) + timedelta(minutes=n), n / 80_000) for n in range(28_800)]
    assert len(points(fan.drawn(facts(recorded=many), NOW, ZONE).recorded)) <= 2 * 100 * fan.POINTS_PER_PERCENT + 2


def test_the_age_wall_ends_the_bands_and_the_table():
    wall = facts(age_day=date(2026, 3, 12), p90=date(2026, 3, 12))
    made = fan.drawn(wall, NOW, ZONE)
    assert made.age.value == date(2026, 3, 12)
    assert points(made.middle)[-1][0] == pytest.approx(made.age.x * 10, abs=0.2)
    assert [week.day for week in fan_facts.weeks(wall)][-1] == date(2026, 3, 12)
    beyond = fan.drawn(facts(age_day=date(2026, 7, 1)), NOW, ZONE)
    assert beyond.age is None and points(beyond.middle)[-1][0] == pytest.approx(1000, abs=0.1)


def test_a_wall_that_is_behind_leaves_only_what_was_recorded():
    gone = facts(age_day=date(2026, 3, 1), p90=date(2026, 3, 3))
    made = fan.drawn(gone, NOW, ZONE)
    assert made.age is None and len(points(made.middle)) == 1 and fan_facts.weeks(gone) == []


def test_closed_days_are_shaded_from_midnight_to_midnight_and_neighbours_are_one_piece():
    shut = {date(2026, 3, 9), date(2026, 3, 16), date(2026, 3, 17), date(2026, 9, 1)}
    made = fan.drawn(facts(closed=shut), NOW, ZONE)
    a_day = 100 / 45.54
    assert len(made.closed) == 2
    assert made.closed[0][1] == pytest.approx(a_day, abs=0.05)
    assert made.closed[1][1] == pytest.approx(2 * a_day, abs=0.05)
    # Monday 9 March begins 5.54 days after noon of the 3rd.
    assert made.closed[0][0] == pytest.approx(made.now.x + 5.54 * a_day, abs=0.1)


def test_a_day_of_the_clock_change_is_an_hour_narrower():
    """Europe's clocks went forward on 29 March 2026 at 01:00 UTC (Directive 2000/84/EC)."""
    shut = {date(2026, 3, 29), date(2026, 3, 22)}
    made = fan.drawn(facts(days=28, closed=shut), NOW, ZONE)
    assert made.closed[1][1] / made.closed[0][1] == pytest.approx(23 / 24, abs=0.005)


def test_every_monday_has_a_mark_and_dates_only_where_they_find_room():
    made = fan.drawn(facts(days=120, p90=None, row=SimpleNamespace(p90=None, age_ends_at=None)), NOW, ZONE)
    assert all(word.value.weekday() == 0 for word in made.weeks)
    assert made.shown == 120
    assert made.weeks[0].room == 0  # the first is dated also near to the edge, beside which its date begins
    assert (made.weeks[0].anchor, made.weeks[-1].anchor) == ("start", "end")
    for room, most in enumerate(fan.DATES_SHOWN):
        assert 2 <= sum(word.room <= room for word in made.weeks) <= most


def test_planned_bath_changes_stand_at_their_moment():
    there = NOW + timedelta(days=4)
    made = fan.drawn(facts(), NOW, ZONE, [NOW - timedelta(days=1), there, NOW + timedelta(days=300)])
    assert [word.value for word in made.changes] == [there]
    assert made.changes[0].x == pytest.approx(made.now.x + 4 * 100 / 45.54, abs=0.1)


def test_the_axis_ends_two_days_after_the_widest_band_is_over_the_limit_and_is_ten_days_at_least():
    # 40 % and a quarter of 10 % a day: the lower edge reaches the limit at the end of the 24th day.
    assert fan_facts.days_shown(facts(days=120, a_day=0.1)) == 26
    assert fan_facts.days_shown(facts(days=120, a_day=1.0)) == 10
    assert fan_facts.days_shown(facts(days=120, a_day=0.01)) == 120
    wall = facts(days=120, age_day=date(2026, 3, 20))
    assert fan_facts.days_shown(wall) == 20 and fan_facts.days_drawn(wall) == 18
    assert fan_facts.days_shown(facts(days=120, in_m2=True)) == fan_facts.AHEAD_IN_M2


def test_the_age_wall_stands_at_its_moment_and_the_lines_end_there():
    row = SimpleNamespace(p90=None, age_ends_at=NOW + timedelta(days=9, hours=-6))
    made = fan.drawn(facts(age_day=date(2026, 3, 12), row=row), NOW, ZONE)
    whole = fan.drawn(facts(age_day=date(2026, 3, 12)), NOW, ZONE)
    a_day = (whole.age.x - made.now.x) / 9.5  # noon to the twelfth's end
    assert made.shown == whole.shown and (made.age.x - made.now.x) / a_day == pytest.approx(8.75, abs=0.01)
    x, y = points(made.middle)[-1]
    assert x == pytest.approx(made.age.x * 10, abs=0.2)
    # A quarter of the day's hundredth has come by six in the morning.
    assert y == pytest.approx(TOP + PLOT * (1 - (0.4 + 0.0925) / 1.2), abs=0.2)


def test_the_table_has_a_line_for_each_of_seven_days_then_for_each_week_and_says_the_figures_of_the_drawing():
    weeks = fan_facts.weeks(facts())
    assert [week.day for week in weeks] == [date(2026, 3, day) for day in (3, 4, 5, 6, 7, 8, 9, 16, 23, 28)]
    seventh = weeks[6]
    assert (seventh.low, seventh.middle, seventh.high) == pytest.approx((0.4 + 0.035, 0.47, 0.4 + 0.105))
    assert seventh.chance == 7 / 20
    walled = fan_facts.weeks(facts(age_day=date(2026, 3, 8)))
    assert [week.day.day for week in walled] == [3, 4, 5, 6, 7, 8]


def test_the_day_on_which_a_line_crosses_the_limit_is_one_that_is_drawn():
    steep = facts(a_day=0.1)
    assert fan_facts.crossed(steep, 0.5) == date(2026, 3, 8)  # 40 % and six times 10 %
    assert fan_facts.crossed(steep, 0.9) == date(2026, 3, 6)
    assert fan_facts.crossed(facts(), 0.5) is None
    assert fan_facts.crossed(facts(a_day=0.1, age_day=date(2026, 3, 7)), 0.5) is None
    assert fan_facts.crossed(facts(a_day=0.1, in_m2=True), 0.5) is None


def test_a_bath_without_a_limit_is_drawn_in_square_metres():
    made = fan.drawn(facts(in_m2=True, p90=None, limit="", row=SimpleNamespace(p90=None, age_ends_at=None)), NOW, ZONE)
    # 0.4 and 35 days of 0.015 are 0.93 m²: the scale goes to 1.
    assert made.limit is None and [word.value for word in made.scale] == [0.5, 1.0]


@pytest.mark.parametrize(("value", "up"), [(0.03, 0.05), (1, 1), (1.1, 2), (4.2, 5), (60, 100), (200, 200)])
def test_a_scale_ends_at_a_round_figure(value, up):
    assert fan.round_up(value) == pytest.approx(up)


def test_a_bath_that_was_never_used_is_drawn_too():
    made = fan.drawn(facts(recorded=[], start=0.0, a_day=0.0, in_m2=True), NOW, ZONE)
    assert made.recorded == "" and made.scale[-1].value == 1.0


def test_a_fan_without_a_day_ahead_cannot_be_drawn():
    with pytest.raises(ValueError, match="at least one day"):
        fan.drawn(facts(days=0), NOW, ZONE)
