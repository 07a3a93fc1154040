"""Who may come through the door, who outstays, who is asked about sheets: pure."""

from datetime import UTC, datetime, timedelta

import pytest

from studiodesk.bookings.rules import door
from studiodesk.bookings.rules.door import Present, Session, Stay

NOW = datetime(2026, 11, 25, 14, 0, tzinfo=UTC)
HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)


@pytest.mark.parametrize(
    ("present", "count"),
    [
        ([], 0),
        ([Present(1), Present(2)], 2),
        ([Present(1), Present(1)], 1),  # a booth and the scanner at once
        ([Present(1), Present(None, 3)], 4),
        ([Present(None, 1), Present(None, 1)], 2),  # two whom nobody has on file are two
        ([Present(1, 3), Present(1)], 3),  # with two companions, and a booking besides
    ],
)
def test_a_known_person_counts_once_and_everybody_else_by_head(present, count):
    assert door.heads(present) == count


@pytest.mark.parametrize(
    ("limit", "coming", "refused"),
    [
        (None, [Present(9)], False),
        (3, [Present(9)], False),
        (2, [Present(9)], True),
        (3, [Present(9), Present(None, 1)], True),  # their guest is one too many
        (1, [Present(1)], False),  # is in already: takes no more room, even of a house that is too full
    ],
)
def test_nobody_comes_into_a_full_house(limit, coming, refused):
    refusal = door.may_enter([Present(1), Present(2)], coming, limit)
    assert (refusal is not None) == refused
    if refusal:
        assert refusal.code == "bookings.house_full_now"
        assert refusal.facts == {"inside": 2, "coming": len(coming), "heads": limit}


@pytest.mark.parametrize(
    ("present", "least", "refused"),
    [([], 1, False), ([], 2, True), ([Present(1)], 2, False), ([Present(9)], 2, True), ([Present(1)], 3, True)],
)
def test_the_rule_for_being_alone_counts_whoever_comes(present, least, refused):
    assert (door.not_alone(present, [Present(9)], least) is not None) == refused


@pytest.mark.parametrize(("inside", "too_few"), [(0, False), (1, True), (2, False)])
def test_an_empty_house_breaks_no_rule_and_a_lonely_one_does(inside, too_few):
    assert door.is_too_few(inside, 2) is too_few


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({}, None),
        ({"by_house": False}, "bookings.walk_in_at_the_desk"),
        ({"has_name": False}, "bookings.name_needed"),
        ({"count": 0}, "bookings.heads_needed"),
        ({"count": door.MOST_HEADS}, None),
        ({"count": door.MOST_HEADS + 1}, "bookings.heads_needed"),
        ({"kind": "keyholder"}, "bookings.not_that_role"),
        ({"kind": "tutor", "is_theirs": True, "by_house": False}, None),
    ],
)
def test_a_walk_in_is_let_in_at_the_desk_and_a_role_has_to_be_theirs(changed, code):
    usual = {"kind": "walk-in", "is_theirs": False, "by_house": True, "has_name": True, "count": 1}
    refusal = door.may_come_in(**(usual | changed))
    assert (refusal.code if refusal else None) == code


LEFT = Session(True, NOW - 3 * HOUR, NOW)


@pytest.mark.parametrize(
    ("session", "asks"),
    [
        (LEFT, True),
        (Session(True, NOW - 3 * HOUR, None), False),
        (Session(False, NOW - 3 * HOUR, NOW), False),
        (Session(True, NOW - 3 * HOUR, NOW, logged=True), False),
        (Session(True, NOW - 3 * HOUR, NOW, said="none"), False),
    ],
)
def test_whoever_left_and_logged_nothing_is_asked_once(session, asks):
    assert door.asks_about_sheets(session, NOW) is asks


def test_nobody_is_asked_the_next_day_and_the_last_second_counts():
    assert door.asks_about_sheets(LEFT, NOW + 24 * HOUR - timedelta(seconds=1))
    assert not door.asks_about_sheets(LEFT, NOW + 24 * HOUR)


@pytest.mark.parametrize(
    ("session", "after", "code"),
    [
        (LEFT, 0, None),
        (LEFT, 24, "bookings.too_late_for_sheets"),
        (Session(True, NOW, None), 30, None),
        (Session(True, None, None), 0, "bookings.not_arrived"),
        (Session(False, NOW, None), 0, "bookings.no_sheets_here"),
    ],
)
def test_one_s_own_sheets_can_be_added_until_a_day_after_leaving(session, after, code):
    refusal = door.may_log_own(session, NOW + after * HOUR)
    assert (refusal.code if refusal else None) == code


@pytest.mark.parametrize(("minutes", "may"), [(-1, False), (0, True), (15, True), (16, False)])
def test_a_slip_on_one_s_own_phone_is_taken_back_within_a_quarter_of_an_hour(minutes, may):
    assert door.may_take_back(NOW, NOW + minutes * MINUTE) is may
    assert not door.may_take_back(None, NOW)


# ---- whoever outstays: one sits until 14:00, the next begins at 14:15 ---------------------------------------------


def stays(**changed):
    sits = {"key": 1, "station": 5, "member": 1, "starts": NOW - 3 * HOUR, "ends": NOW, "arrived_at": NOW - 3 * HOUR}
    then = {"key": 2, "station": 5, "member": 2, "starts": NOW + 15 * MINUTE, "ends": NOW + 2 * HOUR}
    return [Stay(**(sits | changed.get("sits", {}))), Stay(**(then | changed.get("then", {})))]


@pytest.mark.parametrize(
    ("minutes", "found"), [(-10, False), (0, False), (4, False), (5, True), (14, True), (15, True), (119, True)]
)
def test_the_next_person_within_ten_minutes_makes_it_an_overrun(minutes, found):
    over = door.overruns(stays(), NOW + minutes * MINUTE, 10)
    assert [(one.sits, one.next, one.is_over) for one in over] == ([(1, 2, True)] if found else [])


def test_before_their_own_end_somebody_is_only_reminded():
    back_to_back = stays(then={"starts": NOW})
    assert [one.is_over for one in door.overruns(back_to_back, NOW - 10 * MINUTE, 10)] == [False]
    assert [one.is_over for one in door.overruns(back_to_back, NOW, 10)] == [True]
    assert door.overruns(back_to_back, NOW - 11 * MINUTE, 10) == []


@pytest.mark.parametrize(
    "changed",
    [
        {"sits": {"left_at": NOW}},
        {"sits": {"arrived_at": None}},
        {"then": {"station": 6}},
        {"then": {"member": 1}},  # their own next booking: nobody has to make room
        {"then": {"arrived_at": NOW}},
        {"then": {"waits": True}},
    ],
)
def test_it_is_no_overrun(changed):
    assert door.overruns(stays(), NOW + 10 * MINUTE, 10) and not door.overruns(stays(**changed), NOW + 10 * MINUTE, 10)


def test_whoever_forgot_to_sign_out_is_no_longer_the_one_who_sits_there():
    forgot, then = stays()
    later = Stay(3, 5, 3, NOW + 3 * HOUR, NOW + 4 * HOUR)
    came_between = Stay(2, 5, 2, then.starts, then.ends, then.starts, then.ends)
    assert door.overruns([forgot, came_between, later], NOW + 3 * HOUR, 10) == []
    assert [one.sits for one in door.overruns([forgot, later], NOW + 3 * HOUR, 10)] == [1]
    next_day = Stay(4, 5, 3, NOW + 12 * HOUR, NOW + 13 * HOUR)
    assert door.overruns([forgot, next_day], NOW + 12 * HOUR, 10) == []
