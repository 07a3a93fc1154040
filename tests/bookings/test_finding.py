"""What is found is exactly what can be had: the search on the real database against the model of the small world."""

from __future__ import annotations

import random
from datetime import datetime, time, timedelta
from typing import Any

import pytest
from django.db import transaction

from studiodesk.answers import Refused
from studiodesk.bookings import actions, queries
from studiodesk.bookings.queries import finding, free_times
from studiodesk.stations import queries as stations
from studiodesk.timekeeping import Span
from tests import makers
from tests.bookings.small_world import HEADS, NOW, OPENING, QUANTA, QUANTUM, STATIONS, Model, Wanted, World, build

PAIRS = [(code, process) for code, (does, *_) in STATIONS.items() for process in sorted(does) or [None]]


def span(wanted: Wanted) -> Span:
    return Span(OPENING + wanted.first * QUANTUM, OPENING + (wanted.first + wanted.length) * QUANTUM)


def book(world: World, wanted: Wanted) -> Any:
    when, who = span(wanted), world.people[0]
    return actions.book(
        member=who,
        station=world.stations[wanted.station],
        process=world.processes[wanted.process] if wanted.process else None,
        starts=when.starts,
        ends=when.ends,
        now=NOW,
        by=who,
    )


def filled(world: World, dice: random.Random) -> Model:
    """Some bookings that the model accepts, each made by the act."""
    model = Model()
    for _ in range(60):
        wanted = Wanted(*dice.choice(PAIRS), dice.randrange(QUANTA), dice.randint(1, 4))
        if len(model.standing) < 5 and model.accepts(wanted):
            model.standing[book(world, wanted).pk] = wanted
    return model


def offered(world: World, code: str, process: str | None, length: int) -> set[int]:
    """The quanta at which a stay is offered to begin, on the one day that is open."""
    kind = world.processes[process] if process else None
    found = queries.free_times(
        studio=stations.studio(),
        stations_wanted=[world.stations[code]],
        processors=stations.processors_of(kind) if kind else None,
        process=kind,
        day=OPENING.date(),
        length=length * QUANTUM,
        now=NOW,
        by=world.people[0],
        enough=100,
        days=1,
    )
    out: set[int] = set()
    for one in found:
        at = one.starts
        while at <= one.last_start:
            out.add(round((at - OPENING) / QUANTUM))
            at += QUANTUM
    return out


def the_two_agree(world: World, model: Model) -> None:
    for code, process in PAIRS:
        for length in (1, 2, 3):
            expected = {n for n in range(QUANTA) if model.accepts(Wanted(code, process, n, length))}
            assert offered(world, code, process, length) == expected, f"{code} {process} {length}: {model.standing}"


def full_quanta(model: Model) -> int:
    return sum(sum(n in one.own for one in model.standing.values()) >= HEADS for n in range(QUANTA))


def test_every_time_that_can_be_had_is_offered_and_every_offer_can_be_booked(db: Any) -> None:
    world, dice, crowded = build(), random.Random(41), 0
    for _ in range(12):
        with transaction.atomic():
            model = filled(world, dice)
            crowded += full_quanta(model) > 0
            the_two_agree(world, model)
            for code, process in PAIRS:
                for first in offered(world, code, process, 2):
                    with transaction.atomic():
                        assert book(world, Wanted(code, process, first, 2)).pk
                        transaction.set_rollback(True)
            transaction.set_rollback(True)
    assert crowded >= 4, "the house was hardly ever full: this proved nothing about heads"


def test_mutant_dies_that_forgets_how_many_the_house_has_room_for(db: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(finding, "crowded", lambda spans, heads: [])
    world, dice = build(), random.Random(41)
    with pytest.raises(AssertionError, match="Wanted"):
        for _ in range(12):
            with transaction.atomic():
                the_two_agree(world, filled(world, dice))
                transaction.set_rollback(True)


def test_near_a_full_house_nothing_is_offered_at_that_time_and_something_beside_it(db: Any) -> None:
    world = build()
    for wanted in (Wanted("A", "dark", 0, 4), Wanted("C", "dark", 0, 4), Wanted("S", None, 0, 4)):
        book(world, wanted)
    wish = Wanted("T", None, 2, 2)
    with pytest.raises(Refused) as caught:
        book(world, wish)
    assert caught.value.refusal.code == "bookings.heads"
    near = queries.near(station=world.stations["T"], process=None, span=span(wish), now=NOW, by=world.people[0])
    assert near.same_time == []
    assert near.same_station[0].starts == OPENING + 4 * QUANTUM


def test_a_stay_in_which_nothing_comes_out_is_neither_offered_nor_booked(house: Any, now: datetime) -> None:
    """Colour: 45 minutes to warm up and 6 on the way, so half an hour has to begin later than 10:21."""
    member, zone = makers.member(), stations.zone()
    asked = {
        "studio": house.studio,
        "stations_wanted": [house.stations["E1"]],
        "processors": [house.processors["P-CO"]],
        "process": house.processes["ra4"],
        "day": now.date() + timedelta(days=1),
        "now": now,
        "by": member,
    }
    (short, *_), (long, *_) = (free_times(**asked, length=timedelta(minutes=m)) for m in (30, 60))
    assert short.starts.astimezone(zone).time() == time(10, 30)
    assert long.starts.astimezone(zone).time() == time(10)

    def book(starts: datetime) -> Any:
        return actions.book(
            member=member,
            station=house.stations["E1"],
            process=house.processes["ra4"],
            starts=starts,
            ends=starts + timedelta(minutes=30),
            now=now,
            by=member,
        )

    with pytest.raises(Refused) as refused:
        book(short.starts - timedelta(minutes=15))
    assert refused.value.refusal.code == "bookings.nothing_comes_out"
    assert book(short.starts).pk


def test_nothing_is_offered_before_the_time_of_day_that_was_asked(house: Any, now: datetime) -> None:
    """18:00 on the wall clock, on every day of the search, also beyond a day that has no such time left."""
    member, zone = makers.member(), stations.zone()
    asked = {
        "studio": house.studio,
        "stations_wanted": [house.stations["E1"]],
        "processors": [house.processors["P-RC"]],
        "process": house.processes["rc"],
        "day": now.date(),
        "length": timedelta(hours=3),
        "now": now,
        "by": member,
    }
    early = free_times(**asked)
    late = free_times(**asked, after=time(18))
    assert min(free.starts.astimezone(zone).time() for free in early) < time(18)
    assert late and {free.starts.astimezone(zone).time() for free in late} == {time(18)}
    assert free_times(**asked, after=time(21)) == []
