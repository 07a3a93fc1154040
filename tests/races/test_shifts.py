"""Several people press "Take it" in one moment, on both databases, judged by the rows afterwards."""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from functools import partial
from typing import Any

import pytest
from django.db import connections

from studiodesk.answers import Refused
from studiodesk.journal.models import Entry
from studiodesk.people import actions as people
from studiodesk.people.models import KeyLoan
from studiodesk.stations import actions
from studiodesk.stations.models import Shift
from studiodesk.timekeeping import Span
from tests import makers

NOW = datetime(2026, 11, 25, 14, tzinfo=UTC)
RACERS = 6
ROUNDS = 4


def together(works: list[Callable[[], Any]]) -> Counter[str]:
    """Each on a connection and a thread of its own, from one barrier; how often each was told what."""
    ready, told = threading.Barrier(len(works), timeout=30), []

    def run(work: Callable[[], Any]) -> None:
        try:
            connections["default"].ensure_connection()
            ready.wait()
            work()
            told.append("done")
        except Refused as refused:
            told.append(refused.refusal.code)
        except Exception as error:
            told.append(repr(error))
        finally:
            connections["default"].close()

    threads = [threading.Thread(target=run, args=(work,), daemon=True) for work in works]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    return Counter(told)


@pytest.fixture
def staff(fresh_db: str) -> Any:
    makers.house()
    return makers.member("Sef", is_staff=True)


def shift(staff: Any, day: int, hour: int = 10) -> Shift:
    starts = NOW + timedelta(days=day, hours=hour)
    return actions.add_shift(span=Span(starts, starts + timedelta(hours=4)), now=NOW, by=staff)


def test_of_several_who_take_one_shift_at_once_one_has_it_and_the_others_are_told(staff: Any) -> None:
    keyholders = [makers.member(f"Kim{number}", is_keyholder=True) for number in range(RACERS)]
    for turn in range(ROUNDS):
        wanted = shift(staff, turn)
        told = together([partial(actions.take_shift, shift=wanted, now=NOW, by=who) for who in keyholders])
        assert told == {"done": 1, "stations.shift_taken": RACERS - 1}
        assert Shift.objects.get(pk=wanted.pk).person in keyholders
        assert Entry.objects.filter(code="stations.shift_taken_by", about_id=wanted.pk).count() == 1


def test_one_person_who_presses_on_two_screens_gets_one_of_two_shifts_of_one_time(staff: Any) -> None:
    kim = makers.member("Kim", is_keyholder=True)
    for turn in range(ROUNDS):
        both = [shift(staff, turn), shift(staff, turn, hour=12)]
        told = together([partial(actions.take_shift, shift=one, now=NOW, by=kim) for one in both])
        assert told == {"done": 1, "stations.shifts_overlap": 1}
        assert Shift.objects.filter(pk__in=[one.pk for one in both], person=kim).count() == 1


def test_two_who_plan_the_same_weeks_at_once_plan_them_once(staff: Any) -> None:
    plan = partial(actions.plan_shifts, first=NOW.date(), weeks=2, now=NOW, by=staff)
    assert together([plan, plan, plan]) == {"done": 3}
    starts = list(Shift.objects.values_list("starts", flat=True))
    assert len(starts) == len(set(starts)) == 11


def test_two_sweeps_at_once_tell_of_an_uncovered_shift_once(staff: Any) -> None:
    shift(staff, 1)
    assert together([partial(actions.flag_uncovered, now=NOW)] * 3) == {"done": 3}
    assert Entry.objects.filter(code="stations.shift_open_48h").count() == 1


def test_a_key_is_handed_out_once(staff: Any) -> None:
    key = people.add_key(code="K-01", sort="key", now=NOW, by=staff)
    both = [makers.member(name) for name in ("Adri", "Bente")]
    told = together([partial(people.hand_out, key=key, holder=who, now=NOW, by=staff) for who in both])
    assert told == {"done": 1, "people.key_is_out": 1} and KeyLoan.objects.count() == 1
