"""Booking with every rule on, beside the bare driver, on both databases, among ten thousand to a million holds."""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from .bare import bare, rows_only, statements_of

NOW = datetime(2026, 11, 25, 11, tzinfo=UTC)
HOUR = timedelta(hours=1)
#: Ten o'clock in Amsterdam in winter, when the house of the tests opens, and the slots of two hours and a quarter.
OPENS, SLOT, SLOTS = timedelta(hours=9), timedelta(hours=2, minutes=15), 5
SIZES = (10_000, 100_000, 1_000_000)
BOOTHS, PROCESSORS = 20, 5
AHEAD_DAYS = 40


@dataclass
class Place:
    """The studio of the bench: what is booked by the rounds, and what the past is made of."""

    house: Any
    lens: Any
    members: list[Any]
    booths: list[Any]
    lanes: list[tuple[int, int, int, int]]


def furnished(members: int) -> Place:
    """A large house: twenty-four booths, six processors; rules, heads, a shared room, kit and a note read."""
    from studiodesk.bookings.actions.house_rules import set_house_rule
    from studiodesk.safety.models import SafetyAcknowledgement, SafetyNote
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
            clear_up_minutes=15,
        )[0]
        for n in range(BOOTHS)
    ]
    note = SafetyNote.objects.create(
        processor=house.processors["P-CO"], version=1, title="N", body="x", published_at=makers.LONG_AGO
    )
    everybody = [makers.member(f"M{n}") for n in range(members)]
    SafetyAcknowledgement.objects.bulk_create(
        SafetyAcknowledgement(note=note, member=one, acknowledged_at=NOW) for one in everybody
    )
    manager = makers.member("Mo", is_staff=True, is_manager=True)
    for code, number in (("open_bookings", 5), ("month_hours", 20), ("peak_week_hours", 9), ("strikes", 3)):
        set_house_rule(code=code, plan=None, value=number, in_force_from=NOW.date(), now=NOW, by=manager)
    kept = Resource.objects.create(sort="kit")
    Lane.objects.bulk_create(Lane(resource=kept, number=n) for n in range(1, 4))
    lens = KitItem.objects.create(code="lens", name="Lens", resource=kept, pieces=3)
    places = [(machine, lane) for machine in machines for lane in machine.resource.lanes.order_by("number")]
    lanes = [
        (booth.pk, booth.resource.lanes.get().pk, machine.pk, lane.pk)
        for booth, (machine, lane) in zip(booths, places, strict=True)
    ]
    return Place(house, lens, everybody, booths, lanes)


def fill(place: Place, holds: int, already: int) -> None:
    """Bookings of two hours, five a day at each booth: the days to come first, then the past backwards."""
    from django.db import connection

    member, process = place.members[-1].pk, place.house.processes["rc"].pk
    per_day = len(place.lanes) * SLOTS
    sqlite = connection.vendor == "sqlite"

    def at(moment: datetime) -> Any:
        return connection.ops.adapt_datetimefield_value(moment.replace(tzinfo=None) if sqlite else moment)

    def numbers() -> Iterator[tuple[int, datetime, tuple[int, int, int, int]]]:
        for number in range(already // 2, holds // 2):
            day, rest = divmod(number, per_day)
            slot, which = divmod(rest, len(place.lanes))
            back = AHEAD_DAYS - day
            starts = datetime(2026, 11, 25, tzinfo=UTC) + timedelta(days=back) + OPENS + slot * SLOT
            yield number + 1, starts, place.lanes[which]

    def bookings() -> Iterator[tuple[Any, ...]]:
        for number, starts, (station, _lane, machine, _place) in numbers():
            made = at(min(starts - timedelta(days=9), NOW - HOUR))
            yield f"X{number}", member, station, process, machine, at(starts), at(starts + 2 * HOUR), made, made

    def kept() -> Iterator[tuple[Any, ...]]:
        first = _first_key(already // 2)
        for number, starts, (_station, lane, _machine, at_machine) in numbers():
            booking = first + number - already // 2 - 1
            yield lane, at(starts), at(starts + SLOT), booking
            yield at_machine, at(starts), at(starts + 2 * HOUR), booking

    columns = "reference, member_id, station_id, process_id, processor_id, starts, ends, made_at, recorded_at"
    _insert(
        "booking",
        f"{columns}, source, was_cancelled_late, guests, adult_name, sheets_said, sequence",
        9,
        ["site", False, 0, "", "", 0],
        bookings(),
    )
    _insert("hold", "lane_id, starts, ends, booking_id, cause, reason", 4, ["booking", ""], kept())
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def _first_key(number: int) -> int:
    from studiodesk.bookings.models import Booking

    return int(Booking.objects.values_list("pk", flat=True).get(reference=f"X{number + 1}"))


def _insert(table: str, columns: str, given: int, rest: list[Any], rows: Iterator[tuple[Any, ...]]) -> None:
    """Bare rows, ten thousand at a time; what is the same in all of them stands in ``rest``."""
    from itertools import islice

    from django.db import connection, transaction

    marks = ", ".join(["%s"] * (given + len(rest)))
    sql = f"INSERT INTO studiodesk_{table} ({columns}) VALUES ({marks})"
    while some := [(*row, *rest) for row in islice(rows, 10_000)]:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.executemany(sql, some)


def slot(number: int) -> datetime:
    """A free time of the colour booth, on a day when the house is open and full: a Tuesday to a Sunday to come."""
    day, part = divmod(number, SLOTS)
    return datetime(2026, 11, 27, tzinfo=UTC) + timedelta(days=day + (day + 3) // 6) + OPENS + part * SLOT


def booker(place: Place, number: int) -> Callable[[], Any]:
    """The act of round ``number``: by a member of its own, two hours in the shared room with a lens."""
    from studiodesk.bookings import actions

    member, starts = place.members[number], slot(number)
    return lambda: actions.book(
        member=member,
        station=place.house.stations["E3"],
        process=place.house.processes["ra4"],
        starts=starts,
        ends=starts + 2 * HOUR,
        kit={place.lens: 1},
        now=NOW,
        by=member,
    )


def seconds(work: Callable[[], Any]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


@dataclass
class Timed:
    """Milliseconds of each round; ``statements``: what one booking sends, transaction included."""

    act: list[float]
    same: list[float]
    rows: list[float]
    search: list[float]
    statements: int


def rounds_of(place: Place, rounds: int, first: int) -> Timed:
    """The act, the same statements and only the same rows in turn, each a committed booking of a time of its own."""
    out = Timed([], [], [], [], 0)
    with bare() as run:
        for number in range(first, first + 3 * rounds, 3):
            act = booker(place, number)
            same = run.prepared(statements_of(booker(place, number + 1)))  # type: ignore[attr-defined]
            out.same.append(seconds(lambda: run(same)) * 1000)  # noqa: B023
            rows = run.prepared(rows_only(statements_of(booker(place, number + 2))))  # type: ignore[attr-defined]
            out.rows.append(seconds(lambda: run(rows)) * 1000)  # noqa: B023
            out.act.append(seconds(act) * 1000)
            out.statements = len(same) + 2
            out.search.append(seconds(lambda: searched(place)) * 1000)
    return out


def searched(place: Place) -> list[Any]:
    """What "What do you want to make?" looks through: two weeks of every booth and machine for the process."""
    from datetime import date

    from studiodesk.bookings import queries
    from studiodesk.stations import queries as stations

    process = place.house.processes["rc"]
    return queries.free_times(
        studio=place.house.studio,
        stations_wanted=list(stations.stations().filter(processes=process)),
        processors=stations.processors_of(process),
        process=process,
        day=date(2026, 11, 26),
        length=2 * HOUR,
        now=NOW,
        by=place.members[0],
        enough=100_000,
        days=14,
    )


@contextmanager
def databases() -> Iterator[list[Any]]:
    """The engines that are here; without PostgreSQL it says so and goes on."""
    from tests import engines

    with tempfile.TemporaryDirectory(prefix="studiodesk-bench-") as folder:
        made: list[Any] = [engines.SQLite(Path(folder))]
        try:
            made.append(engines.PostgreSQL())
        except Exception as error:
            print(f"PostgreSQL does not answer ({type(error).__name__}): SQLite alone is measured")
        try:
            yield made
        finally:
            for one in made:
                one.close()


#: Most of the bare driver's time: the guarded rows, and the same statements.
BARS = {"sqlite": (14.0, 6.0), "postgres": (8.0, 4.0)}
SEARCH_BAR_MS, STATEMENTS_BAR, FLAT_BAR = 50.0, 16, 1.5


def said(name: str, size: int, what: str, figure: str, bar: str, holds: bool) -> None:
    print(f"{name:<9}{size:>10,}  {what:<46}{figure:>10}   {bar:<10}{'holds' if holds else 'DOES NOT HOLD'}")


def booking(rounds: int, sizes: tuple[int, ...] = SIZES) -> None:
    """Prints one line a figure: database, holds there, what, the median, the bar and whether it holds."""
    print("\nbooking with every rule on; the rows and the same statements by the bare driver in the same rounds")
    with databases() as engines:
        for engine in engines:
            with engine.copy():
                measured(engine.name, rounds, sizes)


def measured(name: str, rounds: int, sizes: tuple[int, ...]) -> None:
    place, already, first = furnished(3 * rounds * len(sizes) + 1), 0, 0
    acts: list[float] = []
    for size in sizes:
        fill(place, size, already)
        already = size
        timed = rounds_of(place, rounds, first)
        first += 3 * rounds
        act, rows, same, search = (statistics.median(one) for one in (timed.act, timed.rows, timed.same, timed.search))
        acts.append(act)
        spread = f"the act, ms ({min(timed.act):.1f} to {max(timed.act):.1f})"
        print(f"{name:<9}{size:>10,}  {spread:<46}{act:>10.1f}")
        by_rows, by_same = BARS[name]
        what = f"the act to its guarded rows ({rows:.2f} ms)"
        said(name, size, what, f"{act / rows:.1f} ×", f"≤ {by_rows:.0f} ×", act / rows <= by_rows)
        what = f"the act to the same statements ({same:.2f} ms)"
        said(name, size, what, f"{act / same:.1f} ×", f"≤ {by_same:.0f} ×", act / same <= by_same)
        what = "free times of 14 days, 24 booths, ms"
        said(name, size, what, f"{search:.1f}", f"≤ {SEARCH_BAR_MS:.0f} ms", search <= SEARCH_BAR_MS)
    what, flat = f"the act, to that at {sizes[0]:,} holds", acts[-1] / acts[0]
    said(name, sizes[-1], what, f"{flat:.2f} ×", f"≤ {FLAT_BAR} ×", flat <= FLAT_BAR)
    said(
        name, sizes[-1], "statements", str(timed.statements), f"≤ {STATEMENTS_BAR}", timed.statements <= STATEMENTS_BAR
    )
