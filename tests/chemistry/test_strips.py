"""Control strips: judged by numbers and by eye, and the processor held and let go by what they say."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal as D
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studiodesk.chemistry.rules.strip_chart import chart
from studiodesk.chemistry.rules.strips import (
    ACTION,
    CONTROL,
    INSIDE,
    SPREAD,
    Aim,
    Response,
    by_eye,
    judged,
    response,
    went_one_way,
    worst,
)

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
#: Limits of a light patch: action ±0.08, control ±0.10 (from memory; of the spread 0.08 and 0.10 likewise).
LIMITS = {
    "action_below": D("-0.08"),
    "action_above": D("0.08"),
    "control_below": D("-0.10"),
    "control_above": D("0.10"),
}
AIM = Aim(D("0.80"), **LIMITS)


# --- judging ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("reading", "verdict"),
    [("0.80", INSIDE), ("0.88", INSIDE), ("0.8801", ACTION), ("0.72", INSIDE), ("0.7199", ACTION),
     ("0.90", ACTION), ("0.9001", CONTROL), ("0.70", ACTION), ("0.6999", CONTROL)],
)  # fmt: skip
def test_at_a_limit_a_reading_has_not_passed_it(reading: str, verdict: str) -> None:
    """Decimals as decimals: 0.72 lies 0.08 under 0.80 here, and a little more among floats."""
    assert AIM.verdict(D(reading) - D("0.80")) == verdict
    assert 0.72 - 0.80 < -0.08


def test_a_light_patch_alone_has_a_limit_on_one_side() -> None:
    # Source of D-min +0.02: sapiens.itgo.com process9, Table 1 (control, class S); no limit below
    base = Aim(D("0.10"), control_above=D("0.02"))
    assert base.verdict(D("0.02")) == INSIDE and base.verdict(D("0.021")) == CONTROL
    assert base.verdict(D("-9")) == INSIDE and base.broken(D("0.03")) == D("0.02") and base.broken(D("-9")) is None


def test_the_spread_is_the_greatest_less_the_least_deviation() -> None:
    aims = {("LD", one): Aim(D(aim), **LIMITS) for one, aim in (("R", "0.80"), ("G", "0.78"), ("B", "0.82"))}
    aims["LD", SPREAD] = Aim(None, action_above=D("0.08"), control_above=D("0.10"))
    found = judged({("LD", "R"): D("0.85"), ("LD", "G"): D("0.74"), ("LD", "B"): D("0.82")}, aims)
    assert [(one.channel, one.deviation, one.verdict) for one in found] == [
        ("R", D("0.05"), INSIDE),
        ("G", D("-0.04"), INSIDE),
        ("B", D("0.00"), INSIDE),
        (SPREAD, D("0.09"), ACTION),
    ]
    assert worst(one.verdict for one in found) == ACTION
    assert judged({("XX", "R"): D(1)}, aims) == []


def test_an_eye_sees_that_something_is_off_and_not_by_how_much() -> None:
    assert by_eye("matches", nothing_to_print=True) == INSIDE
    assert by_eye("lighter", nothing_to_print=False) == ACTION
    assert by_eye("stained", nothing_to_print=True) == CONTROL


def test_six_in_a_row_the_same_way() -> None:
    # six points steadily rising or falling: L. S. Nelson, J. Quality Technology 16 (1984), test 3 (from memory)
    rising = [D(n) / 100 for n in (-2, -1, 0, 1, 3, 4)]
    assert went_one_way(rising) and went_one_way([-one for one in rising])
    assert not went_one_way(rising[1:]) and not went_one_way([*rising, D("0.04")])
    assert went_one_way([D("9"), *rising])


@given(st.lists(st.decimals(-1, 1, places=3), max_size=12))
def test_the_run_rule_says_what_it_says(many: list[D]) -> None:
    last = many[-6:]
    rises = len(last) == 6 and all(b > a for a, b in pairwise(last))
    falls = len(last) == 6 and all(b < a for a, b in pairwise(last))
    assert went_one_way(many) is (rises or falls)


@given(st.lists(st.sampled_from([INSIDE, ACTION, CONTROL]), max_size=10))
def test_the_response_is_the_state_machine_of_the_design(verdicts: list[str]) -> None:
    """An independent walk: no case, waiting for a second strip, held."""
    state = "none"
    for verdict in verdicts:
        if state == "none":
            state = "waiting" if verdict == CONTROL else "none"
        elif state == "waiting":
            state = "held" if verdict == CONTROL else "none"
        elif verdict == INSIDE:
            state = "none"
    found = response(verdicts)
    assert (found.asks_for_second, found.is_held) == (state == "waiting", state == "held")
    assert found.is_past_action is (bool(verdicts) and verdicts[-1] == ACTION)
    if found.first is not None:
        assert verdicts[found.first] == CONTROL


def test_a_good_strip_alone_lets_go() -> None:
    assert response([CONTROL, CONTROL, ACTION]) == Response(0, 1, True)
    assert response([CONTROL, CONTROL, ACTION, INSIDE]) == Response()
    assert response([CONTROL, ACTION]) == Response(None, None, True)
    assert response([INSIDE, CONTROL]) == Response(1, None, False)


def test_the_chart_puts_each_reading_where_it_lies() -> None:
    strips = [{("LD", "R"): D("0.00")}, {("LD", "R"): D("0.08"), ("LD", "G"): D("-0.10")}]
    drawn = chart(strips, {("LD", "R"): AIM, ("LD", "G"): AIM})
    [panel] = drawn.panels
    red = [one for one in panel.points if one.channel == "R"]
    assert red[0].y == panel.aim
    assert red[1].y == next(y for y, value in panel.action if value == D("0.08"))
    assert [one.channel for one in panel.points if one.y == max(y for y, _v in panel.control)] == ["G"]
    assert [one.x for one in panel.points if one.channel == "R"] == [4.0, 82.0]
    assert [round(y) for y, _value in panel.control] == sorted((round(y) for y, _v in panel.control), reverse=True)
    assert chart([], {}).panels == []
