"""The races once more over HTTP: the deployed server with its workers, forms with their keys, judged by the raw rows.

``make race`` prints the figures; ``STUDIODESK_RACE_ROUNDS`` makes it longer.
"""

from __future__ import annotations

import os
import random
import re
from collections import Counter
from collections.abc import Iterator
from datetime import timedelta
from functools import partial
from typing import Any

import pytest

from scripts.visitor import Answer, Visitor
from tests import makers
from tests.races.over_http import Sums, logged_in, moment, most_at_once, open_day, served, together, wish
from tests.races.test_races import PAIRS, UNLIKE, raw

PEOPLE = 16
ROUNDS = max(2, int(os.environ.get("STUDIODESK_RACE_ROUNDS", "12")) // 6)


class Race:
    """The house of the race, its sixteen people and their browsers."""

    def __init__(self, url: str, house: makers.House, members: list[Any], visitors: list[Visitor]) -> None:
        self.url, self.house, self.members, self.visitors = url, house, members, visitors

    def raw(self, question: str) -> Any:
        return raw(self.url, question)

    def nothing_is_held_twice(self) -> bool:
        return bool(self.raw(PAIRS) == 0 and self.raw(UNLIKE) == 0)


@pytest.fixture
def race(fresh_db: str) -> Iterator[Race]:
    from django.db import connections
    from django.utils import timezone

    from studiodesk.stations import actions as stations

    house = makers.house(heads_at_once=None)
    for number in range(PEOPLE):
        code = f"B{number:02}"
        house.stations[code], _ = stations.describe_station(
            code=code, name=f"Bench {number}", kind="retouching bench", processes=[]
        )
    stations.describe_kit(code="loupe", name="Loupe", pieces=3, now=timezone.now())
    members = [makers.member(f"Racer{number}") for number in range(PEOPLE)]
    with served(fresh_db) as port:
        visitors = logged_in(port, members)
        connections["default"].close()
        yield Race(fresh_db, house, members, visitors)
    if fresh_db.startswith("postgres"):
        # Counted by the server itself when its connections end, as they now have: everybody takes the same locks in
        # the same order, and nobody's patience is spent in a ring of waiting.
        rings = "SELECT deadlocks FROM pg_stat_database WHERE datname = current_database()"
        assert raw(fresh_db, rings) == 0


def won(answer: Answer | None) -> int | None:
    """The booking whose page the press led to."""
    found = re.fullmatch(r"/bookings/(\d+)/", answer.path) if answer and answer.status == 200 else None
    return int(found[1]) if found else None


def ready(visitor: Visitor, asked: str) -> Answer:
    """The page with the button, before anybody has pressed it."""
    page = visitor.get(f"/book/?{asked}")
    assert page.has_form("/book/"), page.words
    return page


def test_sixteen_browsers_press_book_for_one_time_and_one_gets_it(race: Race) -> None:
    sums, booked = Sums(), []
    for turn in range(ROUNDS):
        asked = wish("S1", open_day(turn), "12:00", "14:00")
        pages = [ready(visitor, asked) for visitor in race.visitors]
        pressed = together(
            [partial(visitor.send, page, "/book/") for visitor, page in zip(race.visitors, pages, strict=True)]
        )
        sums.add(pressed)
        assert most_at_once(pressed) >= PEOPLE // 2, "nobody raced"
        got = [pk for one in pressed if (pk := won(one.answer))]
        assert len(got) == 1
        assert Counter(one.status for one in pressed) == {200: 1, 409: PEOPLE - 1}
        booked += got
    assert sums.told("rush for one station", race.url)["faults"] == []
    assert race.nothing_is_held_twice()
    assert race.raw("SELECT COUNT(*) FROM studiodesk_booking") == len(set(booked)) == ROUNDS


def test_one_person_who_presses_eight_times_has_one_booking_and_eight_times_the_same_answer(race: Race) -> None:
    visitor = race.visitors[0]
    page = ready(visitor, wish("S1", open_day(0), "12:00", "14:00"))
    pressed = together([partial(visitor.send, page, "/book/")] * 8)
    assert len({won(one.answer) for one in pressed}) == 1 and won(pressed[0].answer), [one.status for one in pressed]
    assert race.raw("SELECT COUNT(*) FROM studiodesk_booking") == 1
    assert race.raw("SELECT COUNT(*) FROM studiodesk_entry WHERE code = 'bookings.booked'") == 1


def test_all_move_to_one_free_time_one_does_and_the_others_keep_what_they_had(race: Race) -> None:
    sums, day = Sums(), open_day(0)
    mine = {}
    for number, visitor in enumerate(race.visitors):
        page = ready(visitor, wish(f"B{number:02}", day, "10:00", "12:00"))
        mine[number] = won(visitor.send(page, "/book/"))
    holds = "SELECT COUNT(*) FROM studiodesk_hold"
    before = race.raw(holds)
    for turn in range(1, ROUNDS + 1):
        target = wish("S1", open_day(turn), "15:00", "17:00")
        ways = [f"/bookings/{mine[number]}/change/" for number in range(PEOPLE)]
        pages = [visitor.get(f"{way}?{target}") for visitor, way in zip(race.visitors, ways, strict=True)]
        assert all(page.has_form(way) for page, way in zip(pages, ways, strict=True)), pages[0].words
        pressed = together(
            [partial(v.send, page, way) for v, page, way in zip(race.visitors, pages, ways, strict=True)]
        )
        sums.add(pressed)
        assert most_at_once(pressed) >= PEOPLE // 2, "nobody raced"
        assert Counter(one.status for one in pressed) == {200: 1, 409: PEOPLE - 1}
        assert race.raw(holds) == before, "somebody lost or doubled what they held"
    assert sums.told("moving to one time", race.url)["faults"] == []
    assert race.nothing_is_held_twice()
    starts = moment(open_day(ROUNDS), "15:00")
    from studiodesk.bookings.models import Booking

    assert Booking.objects.filter(starts=starts).count() == 1
    assert Booking.objects.filter(cancelled_at=None).count() == PEOPLE


def test_three_loupes_are_lent_three_times_and_the_others_keep_nothing_half(race: Race) -> None:
    from studiodesk.bookings.models import BookingKit
    from studiodesk.stations.models import KitItem

    sums, loupe = Sums(), KitItem.objects.get(code="loupe")
    for turn in range(ROUNDS):
        asked = [wish(f"B{number:02}", open_day(turn), "12:00", "14:00") for number in range(PEOPLE)]
        pages = [ready(visitor, one) for visitor, one in zip(race.visitors, asked, strict=True)]
        kit = {f"kit-{loupe.pk}": "1"}
        pressed = together(
            [partial(v.send, page, "/book/", **kit) for v, page in zip(race.visitors, pages, strict=True)]
        )
        sums.add(pressed)
        got = [pk for one in pressed if (pk := won(one.answer))]
        assert len(got) == loupe.pieces, Counter(one.status for one in pressed)
        assert set(BookingKit.objects.filter(booking__in=got).values_list("pieces", flat=True)) == {1}
    assert sums.told("the last loupes", race.url)["faults"] == []
    assert race.raw("SELECT COUNT(*) FROM studiodesk_booking") == loupe.pieces * ROUNDS
    assert race.raw("SELECT COUNT(*) FROM studiodesk_bookingkit") == loupe.pieces * ROUNDS
    # A booking has its bench and its loupe, nothing else is held by anybody.
    assert race.raw("SELECT COUNT(*) FROM studiodesk_hold") == 2 * loupe.pieces * ROUNDS
    assert race.nothing_is_held_twice()


def test_what_is_given_back_goes_to_the_first_who_waits_and_not_to_whoever_is_quick(race: Race) -> None:
    from studiodesk.bookings.models import Booking, Offer, WaitingWish

    sums, day = Sums(), open_day(0)
    asked = wish("S1", day, "12:00", "14:00")
    first = won(race.visitors[0].send(ready(race.visitors[0], asked), "/book/"))
    waiting = list(range(1, 7))
    for number in waiting:
        visitor = race.visitors[number]
        taken = visitor.get(f"/book/?{asked}")
        way = re.search(r'href="(/waiting/new/\?[^"]+)"', taken.text)
        assert way, taken.words
        answer = visitor.send(visitor.get(way[1].replace("&amp;", "&")), "/waiting/new/")
        assert answer.status == 200, answer.words
    quick = race.visitors[7:]
    page = race.visitors[0].get(f"/bookings/{first}/")
    stale = {
        number: race.visitors[7 + number].get(f"/book/?{wish('S1', day, '10:00', '12:00')}") for number in range(9)
    }
    grab = {"day": day.isoformat(), "begins": "12:00", "until": "14:00"}
    pressed = together(
        [
            partial(race.visitors[0].send, page, f"/bookings/{first}/cancel/"),
            *[partial(visitor.send, stale[number], "/book/", **grab) for number, visitor in enumerate(quick)],
        ]
    )
    sums.add(pressed)
    assert [one.status for one in pressed] == [200] + [409] * len(quick)
    turn = 0
    while turn < len(waiting):
        offer = Offer.objects.get(answer="")
        assert offer.booking.member_id == race.members[waiting[turn]].pk, "somebody was passed over"
        holder, pk = race.visitors[waiting[turn]], offer.booking_id
        shown = holder.get(f"/bookings/{pk}/")
        last = turn == len(waiting) - 1
        word = "accept" if last else "decline"
        # Both taps of one finger, and the quick ones at once.
        pressed = together(
            [
                *[partial(holder.send, shown, f"/bookings/{pk}/{word}/")] * 2,
                *[partial(visitor.send, stale[number], "/book/", **grab) for number, visitor in enumerate(quick)],
            ]
        )
        sums.add(pressed)
        assert [one.status for one in pressed[2:]] == [409] * len(quick)
        turn += 1
    assert sums.told("waiting list", race.url)["faults"] == []
    assert race.nothing_is_held_twice()
    kept = Booking.objects.get(cancelled_at=None)
    assert (kept.member_id, kept.offered_until) == (race.members[waiting[-1]].pk, None)
    assert Offer.objects.count() == len(waiting) == Offer.objects.values("booking__member").distinct().count()
    assert WaitingWish.objects.count() == len(waiting)


def test_a_storm_of_bookings_moves_and_cancellations_leaves_nothing_double_and_nothing_lost(race: Race) -> None:
    """Everybody does six things in a row, by dice, on few stations and days; what was acknowledged is there."""
    sums = Sums()

    def storm(number: int) -> Answer:
        dice, visitor, mine = random.Random(number), race.visitors[number], []
        answer = visitor.get("/bookings/")
        for _ in range(6):
            station, day = dice.choice(["E1", "E3", "E4", "S1"]), open_day(dice.randrange(2))
            starts = moment(day, "10:00") + dice.randrange(0, 32) * timedelta(minutes=15)
            ends = starts + dice.choice([1, 2]) * timedelta(hours=1)
            process = "" if station == "S1" else dice.choice(["rc", "ra4"])
            asked = wish(station, day, f"{starts:%H:%M}", f"{ends:%H:%M}", process=process)
            way = dice.choice(["book", "book", "move", "cancel"]) if mine else "book"
            path = "/book/" if way == "book" else f"/bookings/{mine[-1]}/{'change' if way == 'move' else 'cancel'}/"
            page = visitor.get(f"{path}?{asked}" if way != "cancel" else f"/bookings/{mine[-1]}/")
            if not page.has_form(path):
                continue
            answer = visitor.send(page, path)
            assert answer.status in (200, 409), f"{way}: {answer.status} {answer.words[:200]}"
            if way == "book" and (pk := won(answer)):
                mine.append(pk)
            if way == "cancel" and answer.status == 200:
                mine.pop()
        kept[number] = set(mine)
        return answer

    kept: dict[int, set[int]] = {}
    sums.add(together([partial(storm, number) for number in range(PEOPLE)]))
    assert sums.told("storm", race.url)["faults"] == []
    assert race.nothing_is_held_twice()
    from studiodesk.bookings.models import Booking

    acknowledged = set().union(*kept.values())
    assert acknowledged
    assert set(Booking.objects.filter(cancelled_at=None).values_list("pk", flat=True)) == acknowledged
