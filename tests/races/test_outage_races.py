"""Shutting, giving back and booking at once, by real processes: what is given back falls to the outage and to nobody
else."""

from __future__ import annotations

import multiprocessing
from datetime import timedelta
from typing import Any

import pytest

from tests import makers
from tests.races.racer import HOUR, NOW, Told, slot, use
from tests.races.test_races import PAIRS, raw

ROUNDS = 8
ROLES = ("shuts", "cancels", "books", "books", "moves")
#: Outages of whose time nothing at all is kept, by them or by a booking: a slot is one booking, all of it or none.
LEFT_OPEN = """
SELECT COUNT(*) FROM studiodesk_outage o JOIN studiodesk_outage_resources r ON r.outage_id = o.id
JOIN studiodesk_lane l ON l.resource_id = r.resource_id
WHERE NOT EXISTS (SELECT 1 FROM studiodesk_hold h WHERE h.lane_id = l.id AND h.starts < o.ends AND h.ends > o.starts)
"""


def racer(url: str, role: str, number: int, barrier: Any, home: Any) -> None:
    """One part of the race, ``ROUNDS`` times over: everybody starts together at the same two hours of the scanner."""
    use(url)
    from django.db import DatabaseError, connection

    from studiodesk.acts import Busy
    from studiodesk.answers import Refused
    from studiodesk.bookings import actions
    from studiodesk.bookings.models import Booking
    from studiodesk.people.models import Member
    from studiodesk.stations.models import Station
    from studiodesk.timekeeping import Span

    members = list(Member.objects.order_by("pk"))
    keyholder = next(member for member in members if member.is_keyholder)
    scanner, told = Station.objects.get(code="S1"), Told()
    connection.ensure_connection()
    for turn in range(ROUNDS):
        starts, ends = slot(turn)
        barrier.wait()
        try:
            standing = Booking.objects.filter(starts=starts, cancelled_at__isnull=True).first()
            if role == "shuts":
                actions.close_station(
                    station=scanner, span=Span(starts, ends), reason="lamp", now=NOW, by=keyholder, cause="fault"
                )
            elif role == "cancels" and standing is not None:
                actions.cancel(booking=standing, now=NOW, by=standing.member)
            elif role == "moves" and standing is not None:
                new = actions.New(starts=ends, ends=ends + HOUR)
                actions.change(booking=standing, new=new, now=NOW, by=standing.member)
            elif role == "books":
                member = members[number % len(members)]
                made = actions.book(
                    member=member, station=scanner, process=None, starts=starts, ends=ends, now=NOW, by=member
                )
                told.won.append(made.pk)
        except Refused:
            told.refused += 1
        except Busy:
            told.busy += 1
        except DatabaseError as error:
            told.other.append(f"{role} {type(error).__name__}: {error}"[:200])
    connection.close()
    home.put(told)


@pytest.fixture
def booked_scanner(fresh_db: str) -> str:
    """Somebody stands at the scanner in every slot; a keyholder is there to shut it."""
    from django.db import connections

    from studiodesk.bookings import actions
    from tests import engines

    engines.use(fresh_db)
    house = makers.house(heads_at_once=None)
    people = [makers.member(f"R{number}") for number in range(4)]
    makers.member("Kim", is_keyholder=True)
    for turn in range(ROUNDS):
        starts, ends = slot(turn)
        who = people[turn % 2]
        actions.book(
            member=who,
            station=house.stations["S1"],
            process=None,
            starts=starts,
            ends=ends,
            now=NOW - timedelta(days=1),
            by=who,
        )
    connections["default"].close()
    return fresh_db


def test_what_is_given_back_while_it_is_shut_is_kept_by_the_outage_whoever_is_first(booked_scanner: str) -> None:
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["tests.races.warm"])
    barrier, home = context.Barrier(len(ROLES), timeout=120), context.Queue()
    racers = [
        context.Process(target=racer, args=(booked_scanner, role, number, barrier, home), daemon=True)
        for number, role in enumerate(ROLES)
    ]
    for one in racers:
        one.start()
    told = [home.get(timeout=300) for _ in racers]
    for one in racers:
        one.join(timeout=30)
    assert [word for one in told for word in one.other] == []
    assert sum(one.busy for one in told) == 0
    assert raw(booked_scanner, "SELECT COUNT(*) FROM studiodesk_outage") == ROUNDS
    assert raw(booked_scanner, PAIRS) == 0
    assert raw(booked_scanner, LEFT_OPEN) == 0, "time of an outage was given back and kept by nobody"
