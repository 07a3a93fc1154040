"""The house that booking is measured in: twenty-four booths, every rule on, and as much booked as is asked for."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from itertools import islice
from typing import Any

from django.db import connection, transaction

NOW = datetime(2026, 11, 25, 11, tzinfo=UTC)
TODAY = datetime(2026, 11, 25, tzinfo=UTC)
HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
#: Ten o'clock in Amsterdam in winter: the house of the tests is open from then for twelve hours, but for Mondays.
OPENS, OPEN = timedelta(hours=9), timedelta(hours=12)
CLEAR_UP = 15 * MINUTE
#: What the rounds book: five times a day at a booth of the shared room, two hours each.
SLOT, SLOTS = 2 * HOUR + CLEAR_UP, 5
#: Booths that were booked before, and so many processors that each of those booths has a place of its own.
BOOTHS, PROCESSORS = 20, 5
#: So many days to come are booked as full as they will be; all else lies in the past.
AHEAD_DAYS = 40
SEED = 20261125
#: What a manager can set that stands in nobody's way here and is asked of everybody.
RULES = (
    ("membership_needed", 1),
    ("days_ahead", 120),
    ("open_bookings", 8),
    ("month_hours", 40),
    ("longest_stay_minutes", 240),
    ("peak_days", 31),
    ("peak_week_hours", 9),
    ("strikes", 3),
    ("guests", 1),
)
BOOKING_COLUMNS = (
    *("id", "reference", "member_id", "station_id", "process_id", "processor_id", "starts", "ends", "made_at"),
    *("recorded_at", "arrived_at", "left_at", "source", "was_cancelled_late", "guests", "adult_name"),
    *("sheets_said", "sequence"),
)
HOLD_COLUMNS = ("lane_id", "starts", "ends", "booking_id", "cause", "reason")
#: (station, its lane, processor, a lane there)
Spot = tuple[int, int, int, int]
#: (member, from, until, where)
Stay = tuple[int, datetime, datetime, Spot]


@dataclass
class World:
    """``stays`` yields what is booked, always the same: the days to come first, then the past backwards."""

    house: Any
    lens: Any
    members: list[int]
    spots: list[Spot]
    stays: Iterator[Stay]
    holds: int = 0


def furnished(members: int) -> World:
    """An empty large house and its members: all signed off, with a membership and the safety note read.

    The processor and the booth that the rounds book are the house's own ("P-CO" and "E3"); nobody else does.
    """
    from studiodesk.stations import actions as stations
    from studiodesk.stations.models import KitItem, Lane, Resource
    from tests import makers

    house = makers.house(heads_at_once=200)
    rc = house.processes["rc"]
    machines = [
        stations.describe_processor(
            code=f"R{n}", name=f"RC {n}", process=rc, feed_width_mm=508, booths_at_once=4, now=makers.LONG_AGO
        )[0]
        for n in range(PROCESSORS)
    ]
    booths = [
        stations.describe_station(
            code=f"B{n:02}",
            name=f"Booth B{n}",
            kind="enlarger booth",
            processes=[rc],
            zone_name="",
            clear_up_minutes=CLEAR_UP // MINUTE,
        )[0]
        for n in range(BOOTHS)
    ]
    kept = Resource.objects.create(sort="kit")
    Lane.objects.bulk_create(Lane(resource=kept, number=n) for n in range(1, 4))
    lens = KitItem.objects.create(code="lens", name="Lens", resource=kept, pieces=3)
    places = [(machine, lane) for machine in machines for lane in machine.resource.lanes.order_by("number")]
    spots = [
        (booth.pk, booth.resource.lanes.get().pk, machine.pk, lane.pk)
        for booth, (machine, lane) in zip(booths, places, strict=True)
    ]
    people = _people(house, members)
    return World(house, lens, people, spots, _stays(people, spots))


def _people(house: Any, many: int) -> list[int]:
    """The keys of the members; every rule of the house is set, and each of them keeps it."""
    from studiodesk.bookings.actions.house_rules import set_house_rule
    from studiodesk.people.models import Member, Membership, MembershipPlan
    from studiodesk.safety.models import SafetyAcknowledgement, SafetyNote, SignOff, SignOffNeed
    from tests import makers

    manager = makers.member("Mo", is_staff=True, is_manager=True)
    for code, number in RULES:
        set_house_rule(code=code, plan=None, value=number, in_force_from=NOW.date(), now=NOW, by=manager)
    Member.objects.bulk_create(
        Member(number=f"B{n:06}", name=f"Member {n}", email=f"b{n}@example.org", joined_on=date(2026, 1, 15))
        for n in range(many)
    )
    people = list(Member.objects.filter(number__startswith="B").order_by("number"))
    plan = MembershipPlan.objects.create(code="full", name="Full")
    note = SafetyNote.objects.create(
        processor=house.processors["P-CO"], version=1, title="N", body="x", published_at=makers.LONG_AGO
    )
    needs: list[dict[str, Any]] = [{"process": house.processes["ra4"]}, {"kind": house.stations["E3"].kind}]
    SignOffNeed.objects.bulk_create(SignOffNeed(**of, made_at=makers.LONG_AGO) for of in needs)
    SignOff.objects.bulk_create(
        SignOff(member=one, given_by=manager, given_at=makers.LONG_AGO, **of) for one in people for of in needs
    )
    SafetyAcknowledgement.objects.bulk_create(
        SafetyAcknowledgement(note=note, member=one, acknowledged_at=NOW) for one in people
    )
    Membership.objects.bulk_create(
        Membership(member=one, plan=plan, first_day=date(2026, 1, 15), made_at=makers.LONG_AGO) for one in people
    )
    return [one.pk for one in people]


def _stays(people: list[int], spots: list[Spot]) -> Iterator[Stay]:
    """One to three hours with pauses between, at every booth on every open day, each member in turn."""
    dice, number, day = random.Random(SEED), 0, 0
    ahead = iter([*range(2, AHEAD_DAYS), 1, 0])
    while True:
        day = next(ahead, day - 1)
        opens = TODAY + timedelta(days=day) + OPENS
        if opens.weekday() == 0:
            continue
        for spot in spots:
            at = opens + 15 * MINUTE * dice.choice((0, 0, 0, 2, 4, 12))
            while (ends := at + 30 * MINUTE * dice.choice((2, 3, 4, 4, 5, 6))) <= opens + OPEN:
                yield people[number % len(people)], at, ends, spot
                number += 1
                at = ends + CLEAR_UP + 15 * MINUTE * dice.choice((0, 0, 0, 1, 2, 4, 8))


def fill(world: World, holds: int) -> None:
    """Bookings by bare SQL until ``holds`` holds stand, two of each booking; then the database counts its rows."""
    from studiodesk.bookings.models import Booking

    process = world.house.processes["rc"].pk
    stays = list(islice(world.stays, (holds - world.holds) // 2))
    world.holds += 2 * len(stays)
    last = Booking.objects.order_by("-pk").values_list("pk", flat=True).first() or 0

    def bookings() -> Iterator[tuple[Any, ...]]:
        for key, (member, starts, ends, (station, _lane, machine, _place)) in enumerate(stays, last + 1):
            made = min(starts - timedelta(days=9), NOW - HOUR)
            came = (starts, ends) if ends < NOW else (None, None)
            times = (starts, ends, made, made, *came)
            yield key, f"X{key}", member, station, process, machine, *times, "site", False, 0, "", "", 0

    def held() -> Iterator[tuple[Any, ...]]:
        for key, (_member, starts, ends, (_station, lane, _machine, place)) in enumerate(stays, last + 1):
            yield lane, starts, ends + CLEAR_UP, key, "booking", ""
            yield place, starts, ends, key, "booking", ""

    with transaction.atomic(), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET LOCAL statement_timeout = 0")
        _load(cursor, "studiodesk_booking", BOOKING_COLUMNS, bookings())
        _load(cursor, "studiodesk_hold", HOLD_COLUMNS, held())
        if connection.vendor == "postgresql":
            counter = "pg_get_serial_sequence('studiodesk_booking', 'id')"
            cursor.execute(f"SELECT setval({counter}, {last + len(stays)})")
        cursor.execute("ANALYZE")


def _load(cursor: Any, table: str, columns: tuple[str, ...], rows: Iterator[tuple[Any, ...]]) -> None:
    """By the bare driver: COPY on PostgreSQL, one prepared statement on SQLite, where Django keeps moments as text."""
    names = ", ".join(columns)
    if connection.vendor == "postgresql":
        with cursor.copy(f"COPY {table} ({names}) FROM STDIN") as copy:
            for row in rows:
                copy.write_row(row)
        return
    marks = ", ".join("?" * len(columns))
    as_text = (tuple(str(one)[:19] if isinstance(one, datetime) else one for one in row) for row in rows)
    cursor.connection.cursor().executemany(f"INSERT INTO {table} ({names}) VALUES ({marks})", as_text)


def slot(number: int) -> datetime:
    """The ``number``-th time at the booth of the rounds, on days when the house is open and busy."""
    day, part = divmod(number, SLOTS)
    return TODAY + timedelta(days=2 + day + (day + 3) // 6) + OPENS + part * SLOT


def booker(world: World, number: int) -> Callable[[], Any]:
    """The act of round ``number``: a member of its own books two hours in the shared room with a lens."""
    from studiodesk.bookings import actions
    from studiodesk.people.models import Member
    from studiodesk.stations.models import Station

    member = Member.objects.get(pk=world.members[number])
    station = Station.objects.select_related("zone").get(code="E3")
    process, starts = world.house.processes["ra4"], slot(number)
    return lambda: actions.book(
        member=member,
        station=station,
        process=process,
        starts=starts,
        ends=starts + 2 * HOUR,
        kit={world.lens: 1},
        now=NOW,
        by=member,
    )
