"""A room takes so many people, whoever they are: members at their booths, another group, and the group that asks."""

from __future__ import annotations

from datetime import timedelta

import pytest

from studiodesk.bookings import actions as bookings
from studiodesk.bookings.actions.groups import keep_group
from studiodesk.bookings.actions.house_rules import set_house_rule
from studiodesk.bookings.queries import groups
from studiodesk.bookings.queries.groups import GroupWish, Needed
from studiodesk.bookings.rules.groups import Spot, StationNeed, Wish, fit
from studiodesk.stations import actions as stations
from studiodesk.timekeeping import Span
from tests import makers

HOUR = timedelta(hours=1)


@pytest.fixture
def evening(now) -> Span:
    starts = now + timedelta(days=14)
    return Span(starts, starts + 3 * HOUR)


def wish(house, span: Span, heads: int, number: int = 1) -> GroupWish:
    return GroupWish(span, heads, (Needed("enlarger booth", house.processes["rc"], number),))


def book(house, now, station: str, span: Span, guests: int = 0) -> None:
    who = makers.member(f"In {station}")
    bookings.book(
        member=who,
        station=house.stations[station],
        process=house.processes["rc"],
        starts=span.starts,
        ends=span.ends,
        guests=guests,
        now=now,
        by=who,
    )


def room_left(house, span: Span, heads: int) -> list[tuple[str, int]]:
    """What a group that can only go into the shared room is told: (what, free)."""
    (found,) = groups.fits([wish(house, span, heads)])
    return [(clash.what, clash.free) for clash in found.clashes]


@pytest.fixture
def shared(house, now, evening):
    """Of the two cubicles neither is free, and of the room for six one booth is."""
    stations.describe_room(name="shared room", heads_at_most=6)
    book(house, now, "E1", evening)
    book(house, now, "E2", evening)
    return house


def test_a_member_and_their_guest_at_the_next_booth_count(shared, now, evening) -> None:
    set_house_rule(code="guests", plan=None, value=3, in_force_from=now.date(), now=now, by=None)
    book(shared, now, "E3", evening, guests=1)
    assert room_left(shared, evening, 4) == []
    assert room_left(shared, evening, 5) == [("room", 4)]


def test_another_group_in_the_room_counts_also_without_a_light_of_its_own(shared, now, evening) -> None:
    need = (Needed("enlarger booth", None, 1),)
    keep_group(wishes=[GroupWish(evening, 4, need)], title="A talk", sort="talk", now=now, by=None)
    assert room_left(shared, evening, 2) == []
    assert room_left(shared, evening, 3) == [("room", 2)]
    later = Span(evening.ends, evening.ends + HOUR)
    (found,) = groups.fits([wish(shared, later, 6)])
    assert found.clashes == (), "they have left by then"


def test_a_group_that_is_moved_is_not_in_its_own_way(shared, now, evening) -> None:
    from studiodesk.bookings.actions.groups import move_groups

    (stay,) = keep_group(wishes=[wish(shared, evening, 6)], title="Six", sort="class", now=now, by=None)
    later = Span(evening.starts + HOUR, evening.ends)
    (moved,) = move_groups(stays=[stay], wishes=[wish(shared, later, 6)], now=now, by=None)
    assert moved.starts == later.starts


def test_where_others_leave_too_little_of_a_room_another_room_is_taken(evening) -> None:
    def booth(key: int, room: int) -> Spot:
        return Spot(key, f"Booth {key}", "booth", frozenset({"rc"}), room=room)

    spots = [booth(1, 1), booth(2, 1), booth(3, 2), booth(4, 2), booth(5, 2)]
    asked = Wish(evening, heads=5, stations=[StationNeed("booth", 2)], rooms={1: 6, 2: 6})
    assert set(fit(asked, spots).stations) == {1, 2}
    beside = Wish(
        evening, heads=5, stations=[StationNeed("booth", 2)], rooms={1: 6, 2: 6}, in_rooms={1: [evening, evening]}
    )
    assert set(fit(beside, spots).stations) == {3, 4}
    full = Wish(
        evening,
        heads=5,
        stations=[StationNeed("booth", 2)],
        rooms={1: 6, 2: 6},
        in_rooms={1: [evening] * 2, 2: [evening] * 3},
    )
    assert [(clash.what, clash.wanted, clash.free) for clash in fit(full, spots).clashes] == [("room", 5, 4)]
