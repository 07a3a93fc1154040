"""Sixteen real processes from a barrier, on both databases, judged by the raw rows.

The negative controls show that the race is a race: without the constraint, looking and then writing lets two in.
``make race`` prints the figures; ``STUDIODESK_RACE_ROUNDS`` makes it longer.
"""

from __future__ import annotations

import multiprocessing
import os
import sqlite3
from contextlib import closing
from typing import Any

import pytest

from tests import makers
from tests.races.racer import Told, race

RACERS = 16
ROUNDS = int(os.environ.get("STUDIODESK_RACE_ROUNDS", "12"))
PAIRS = """
SELECT COUNT(*) FROM studiodesk_hold a JOIN studiodesk_hold b
ON a.lane_id = b.lane_id AND a.id < b.id AND a.starts < b.ends AND b.starts < a.ends
"""
UNLIKE = """
SELECT COUNT(*) FROM studiodesk_zonehold a JOIN studiodesk_zonehold b
ON a.zone_id = b.zone_id AND a.id < b.id AND a.light <> b.light AND a.starts < b.ends AND b.starts < a.ends
"""


def raw(url: str, question: str) -> Any:
    """One number, by the bare driver: no Django between the rows and the judge."""
    if url.startswith("sqlite"):
        with closing(sqlite3.connect(url.removeprefix("sqlite:///"))) as link:
            return link.execute(question).fetchone()[0]
    import psycopg

    with psycopg.connect(url) as link:
        row = link.execute(question).fetchone()
        assert row is not None
        return row[0]


def drop_the_constraint(url: str) -> None:
    if url.startswith("sqlite"):
        with closing(sqlite3.connect(url.removeprefix("sqlite:///"))) as link:
            link.execute('DROP TRIGGER "a_lane_is_held_once_insert"')
            link.execute('DROP TRIGGER "a_lane_is_held_once_update"')
        return
    import psycopg

    with psycopg.connect(url) as link:
        link.execute('ALTER TABLE "studiodesk_hold" DROP CONSTRAINT "a_lane_is_held_once"')


def run(url: str, how: str, rounds: int = ROUNDS) -> list[Told]:
    """Start the racers, let them go together, and bring home what they tell."""
    from django.db import connections

    connections["default"].close()
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["tests.races.warm"])
    barrier, home = context.Barrier(RACERS, timeout=120), context.Queue()
    racers = [
        context.Process(target=race, args=(url, number, how, rounds, barrier, home), daemon=True)
        for number in range(RACERS)
    ]
    for racer in racers:
        racer.start()
    told = [home.get(timeout=300) for _ in racers]
    for racer in racers:
        racer.join(timeout=30)
    return told


def figures(name: str, url: str, told: list[Told]) -> dict[str, Any]:
    """Sums over all racers; printed, so that ``make race`` shows them."""
    seconds = sorted(s for one in told for s in one.seconds)
    length = max(one.ended for one in told) - min(one.began for one in told)
    deadlocks = 0
    if url.startswith("postgres"):
        deadlocks = raw(url, "SELECT deadlocks FROM pg_stat_database WHERE datname = current_database()")
    sums = {
        "attempts": len(seconds),
        "won": sum(len(one.won) for one in told),
        "refused": sum(one.refused for one in told),
        "busy": sum(one.busy for one in told),
        "other": [word for one in told for word in one.other],
        "attempts/s": round(len(seconds) / length),
        "p50 ms": round(1000 * seconds[len(seconds) // 2], 1),
        "p99 ms": round(1000 * seconds[int(len(seconds) * 0.99)], 1),
        "double": raw(url, PAIRS),
        "deadlocks": deadlocks,
    }
    print(f"\n{name}, {url.split(':')[0]}, {RACERS} processes: " + ", ".join(f"{k} {v}" for k, v in sums.items()))
    return sums


def everybody_was_answered(sums: dict[str, Any]) -> bool:
    """Nobody was told to come back (503): all stand in one line, and the line moves faster than patience ends."""
    return bool(sums["busy"] == 0 and sums["won"] + sums["refused"] == sums["attempts"])


@pytest.fixture
def house(fresh_db: str) -> str:
    makers.house()
    for number in range(RACERS):
        makers.member(f"Racer{number}")
    return fresh_db


def test_a_rush_for_one_station_gives_it_to_exactly_one_each_time(house: str) -> None:
    sums = figures("rush for one station", house, run(house, "rush"))
    assert sums["attempts"] == RACERS * ROUNDS
    assert (sums["double"], sums["won"], sums["other"]) == (0, ROUNDS, [])
    assert everybody_was_answered(sums)
    assert sums["deadlocks"] == 0
    assert raw(house, "SELECT COUNT(*) FROM studiodesk_booking") == ROUNDS


def test_booths_processors_and_light_in_each_others_way_are_never_held_twice(house: str) -> None:
    told = run(house, "mixed", 2 * ROUNDS)
    sums = figures("everything at once", house, told)
    assert (sums["double"], sums["other"], sums["deadlocks"]) == (0, [], 0)
    assert everybody_was_answered(sums)
    assert raw(house, UNLIKE) == 0
    assert 0 < sums["won"] < sums["attempts"]
    won = {pk for one in told for pk in one.won}
    assert raw(house, "SELECT COUNT(*) FROM studiodesk_booking") == len(won) == sums["won"]
    assert raw(house, "SELECT COUNT(*) FROM studiodesk_entry WHERE code = 'bookings.booked'") == len(won)


def test_negative_control_check_then_insert_lets_two_in(house: str) -> None:
    """Without the constraint, and on SQLite with the look outside the transaction, the race does harm."""
    drop_the_constraint(house)
    how = "outside" if house.startswith("sqlite") else "inside"
    sums = figures(f"negative control, look {how} the transaction", house, run(house, how, max(ROUNDS, 20)))
    assert sums["double"] > 0, "the race did not race: the other tests prove nothing"


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
def test_second_control_inside_immediate_nothing_goes_wrong(house: str, engine: Any) -> None:
    """SQLite only: an IMMEDIATE transaction is itself the lock, so even check-then-insert is right inside it."""
    drop_the_constraint(house)
    sums = figures("second control, look inside IMMEDIATE", house, run(house, "inside"))
    assert (sums["double"], sums["won"], sums["other"]) == (0, ROUNDS, [])


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True)
def test_the_judge_sees_a_double_when_there_is_one(house: str, engine: Any) -> None:
    drop_the_constraint(house)
    from studiodesk.bookings.models import Hold
    from studiodesk.stations.models import Lane
    from tests.races.racer import slot

    starts, ends = slot(0)
    lane = Lane.objects.order_by("pk").first()
    for _ in range(2):
        Hold.objects.create(lane=lane, starts=starts, ends=ends, cause="closure")
    assert raw(house, PAIRS) == 1
