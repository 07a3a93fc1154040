"""Sixteen browsers after the last places of a class, and a class against members' bookings; judged by the raw rows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import timedelta
from functools import partial
from types import SimpleNamespace
from typing import Any

import pytest

from tests import makers
from tests.races.over_http import Sums, logged_in, most_at_once, open_day, served, together, wish
from tests.races.test_races import PAIRS, UNLIKE, raw

PEOPLE, ROUNDS = 16, 2
#: Heads over what a class takes, seats of places that have none, places without all their seats.
OVER = """SELECT COUNT(*) FROM (SELECT c.id FROM studiodesk_course c JOIN studiodesk_seat s ON s.course_id = c.id
          GROUP BY c.id, c.heads_most HAVING COUNT(*) > c.heads_most) AS over"""
UNEVEN = """SELECT COUNT(*) FROM (SELECT p.id FROM studiodesk_place p LEFT JOIN studiodesk_seat s ON s.place_id = p.id
            GROUP BY p.id, p.heads, p.state HAVING COUNT(s.id) <>
            CASE WHEN p.state IN ('asked', 'offered', 'booked') THEN p.heads ELSE 0 END) AS uneven"""
#: A class has two booths and two places at the processor, or is not there at all.
PARTIAL = """SELECT COUNT(*) FROM (SELECT g.id FROM studiodesk_groupstay g
             LEFT JOIN studiodesk_hold h ON h.group_id = g.id LEFT JOIN studiodesk_lane l ON h.lane_id = l.id
             LEFT JOIN studiodesk_resource r ON l.resource_id = r.id GROUP BY g.id
             HAVING COUNT(DISTINCT CASE WHEN r.sort = 'station' THEN l.id END) <> 2
             OR SUM(CASE WHEN r.sort = 'processor' THEN 1 ELSE 0 END) < 2) AS part"""
#: One person in two places: classes of one tutor that overlap.
TWICE = """SELECT COUNT(*) FROM studiodesk_groupstay a JOIN studiodesk_groupstay b
           ON a.led_by_id = b.led_by_id AND a.id < b.id AND a.starts < b.ends AND b.starts < a.ends
           WHERE a.cancelled_at IS NULL AND b.cancelled_at IS NULL"""


@pytest.fixture
def world(fresh_db: str) -> Iterator[Any]:
    from django.db import connections
    from django.utils import timezone

    from tests.classes.making import outline

    house, now = makers.house(heads_at_once=None), timezone.now()
    of = outline(house, now, decide_days=None)
    people = [makers.member(f"Racer{number}", is_tutor=number % 4 == 0) for number in range(PEOPLE)]
    with served(fresh_db) as port:
        visitors = logged_in(port, people)
        connections["default"].close()
        yield fresh_db, of, people, visitors
    if fresh_db.startswith("postgres"):
        assert raw(fresh_db, "SELECT deadlocks FROM pg_stat_database WHERE datname = current_database()") == 0


def evening(number: int) -> Any:
    from studiodesk.timekeeping import Span
    from tests.races.over_http import moment

    starts = moment(open_day(number), "15:00")
    return Span(starts, starts + timedelta(hours=3))


def test_the_last_places_go_to_as_many_as_there_are_and_the_others_wait_in_line(world: Any) -> None:
    from django.utils import timezone

    from studiodesk.classes import actions

    url, of, people, visitors = world
    sums = Sums()
    for turn in range(ROUNDS):
        course = actions.announce(outline=of, spans=[evening(turn)], tutor=None, now=timezone.now(), by=None)
        way = f"/classes/{course.reference}/"
        pages = [visitor.get(way) for visitor in visitors]
        assert all(page.has_form(way) for page in pages), pages[0].words
        pressed = together([partial(v.send, page, way) for v, page in zip(visitors, pages, strict=True)])
        sums.add(pressed)
        assert most_at_once(pressed) >= PEOPLE // 2, "nobody raced"
        assert Counter(one.status for one in pressed) == {200: PEOPLE}
        states = Counter(course.places.values_list("state", flat=True))
        assert states == {"booked": course.heads_most, "waiting": PEOPLE - course.heads_most}
        # Everybody with a place gives it back at once: whoever waits is asked, in line order.
        having = [place.pk for place in course.places.filter(state="booked")]
        mine = {place.member_id: place.pk for place in course.places.all()}
        back = [(v, mine[p.pk]) for v, p in zip(visitors, people, strict=True) if mine[p.pk] in having]
        shown = [(v, pk, v.get(f"/places/{pk}/")) for v, pk in back]
        pressed = together([partial(v.send, page, f"/places/{pk}/", do="give_up") for v, pk, page in shown])
        sums.add(pressed)
        assert Counter(one.status for one in pressed) == {200: len(having)}
        line = list(course.places.filter(state__in=["waiting", "offered"]).order_by("in_line_since", "pk"))
        asked = [one.state == "offered" for one in line]
        assert asked == sorted(asked, reverse=True) and sum(asked) == course.heads_most
    assert sums.told("last places", url)["faults"] == []
    assert (raw(url, OVER), raw(url, UNEVEN)) == (0, 0)


def test_a_class_and_members_after_the_same_booths_leave_nothing_partial_and_nothing_double(world: Any) -> None:
    url, of, people, visitors = world
    sums = Sums()
    for turn in range(ROUNDS):
        day = open_day(turn)
        presses = []
        for number, (visitor, person) in enumerate(zip(visitors, people, strict=True)):
            if person.is_tutor:
                way = f"/outlines/{of.code}/dates/"
                asked = f"?first_day={day}&begins=15:00&every=1&times=1&heads_most=4&heads_least=2&tutor={person.pk}"
                page = visitor.get(way + asked)
                assert "Announce it" in page.words, page.words
                presses.append(partial(visitor.send, page, way))
            else:
                asked = wish(f"E{1 + number % 4}", day, "16:00", "17:00", process="rc")
                page = visitor.get(f"/book/?{asked}")
                assert page.has_form("/book/"), page.words
                presses.append(partial(visitor.send, page, "/book/"))
        pressed = together(presses)
        sums.add(pressed)
        assert most_at_once(pressed) >= PEOPLE // 2, "nobody raced"
        assert {one.status for one in pressed} <= {200, 409}
    assert sums.told("class against bookings", url)["faults"] == []
    assert (raw(url, PAIRS), raw(url, UNLIKE), raw(url, PARTIAL)) == (0, 0, 0)
    classes, bookings = (raw(url, f"SELECT COUNT(*) FROM studiodesk_{name}") for name in ("groupstay", "booking"))
    assert classes == raw(url, "SELECT COUNT(*) FROM studiodesk_course")
    assert classes + bookings >= ROUNDS, "everybody was refused"


def test_a_tutor_who_announces_from_sixteen_browsers_at_once_teaches_in_one_place(world: Any) -> None:
    """Nothing is kept for a walk, so nothing but the tutor's own time stands in the way."""
    from django.utils import timezone

    from studiodesk.classes.models import Course
    from tests.classes.making import outline

    url, of, people, visitors = world
    house = SimpleNamespace(processes={"rc": of.process})
    walk = outline(house, timezone.now(), code="walk", name="Walk", needs=[], papers=[], decide_days=None)
    tutor, sums = people[0], Sums()
    mine = logged_in(visitors[0].port, [tutor] * PEOPLE)
    for turn in range(ROUNDS):
        asked = f"?first_day={open_day(turn)}&begins=15:00&every=1&times=1&heads_most=4&heads_least=2&tutor={tutor.pk}"
        way = f"/outlines/{walk.code}/dates/"
        pages = [visitor.get(way + asked) for visitor in mine]
        assert all("Announce it" in page.words for page in pages), pages[0].words
        pressed = together([partial(v.send, page, way) for v, page in zip(mine, pages, strict=True)])
        sums.add(pressed)
        assert most_at_once(pressed) >= PEOPLE // 2, "nobody raced"
        assert Counter(one.status for one in pressed) == {200: 1, 409: PEOPLE - 1}
    assert sums.told("one tutor", url)["faults"] == []
    assert (raw(url, TWICE), Course.objects.count()) == (0, ROUNDS)
