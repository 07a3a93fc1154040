"""Booking with every rule on, beside the bare driver, on both databases, among ten thousand to a million holds."""

from __future__ import annotations

import os
import statistics
import tempfile
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

from .bare import Bare, rows_only, statements_of
from .table import milliseconds, say, spread, times_as_much, within
from .world import HOUR, NOW, World, booker, fill, furnished

SIZES = (10_000, 100_000, 1_000_000)
MEMBERS = 2_000
#: How much more than the bare driver's time: for the guarded rows, and for the same statements.
BARS = {"sqlite": (14.0, 6.0), "postgres": (8.0, 4.0)}
NAMES = {"sqlite": "SQLite", "postgres": "PostgreSQL"}
SEARCH_BAR_MS, STATEMENTS_BAR, FLAT_BAR = 50.0, 16, 1.5
WARM_UP = 2
Times = dict[str, list[float]]


def searched(world: World) -> list[Any]:
    """What a member waits for who asks for two hours of printing: the house's map, and two weeks of every booth."""
    from studiodesk.bookings import queries
    from studiodesk.bookings.rules.needs import Need
    from studiodesk.people.models import Member
    from studiodesk.stations import queries as stations

    member = Member.objects.get(pk=world.members[0])
    house, need = queries.house_map(member), Need(process="rc", length=120)
    return queries.search(need, studio=stations.studio(), house=house, member=member, now=NOW, by=member)


def swept(world: World) -> list[Any]:
    """The sweep alone, with nothing weighed: every free time of two weeks, as the waiting list looks for it."""
    from studiodesk.bookings import queries
    from studiodesk.people.models import Member
    from studiodesk.stations import queries as stations

    process = world.house.processes["rc"]
    return queries.free_times(
        studio=stations.studio(),
        stations_wanted=list(stations.stations().filter(processes=process)),
        processors=stations.processors_of(process),
        process=process,
        day=date(2026, 11, 26),
        length=2 * HOUR,
        now=NOW,
        by=Member.objects.get(pk=world.members[0]),
        enough=100_000,
        days=14,
    )


def rounds_of(world: World, rounds: int, first: int) -> tuple[Times, int]:
    """Milliseconds of each round by what was done, and what one booking sends, the transaction's two included.

    The act, the same statements and only the same rows take turns, each round another one first; each books a time of
    its own, committed, which was booked and undone just before, so that the database knows its pages alike.
    """
    times: Times = defaultdict(list)
    driver, statements = Bare(), 0

    def prepared(kind: str, act: Callable[[], Any]) -> Callable[[], Any]:
        nonlocal statements
        sent = statements_of(act)
        statements = len(sent) + 2
        if kind == "act":
            return act
        ready = driver.ready(rows_only(sent) if kind == "rows" else sent)
        return lambda: driver.run(ready)

    kinds = ["act", "same", "rows"]
    for number in range(-WARM_UP, rounds):
        for turn, kind in enumerate(kinds):
            work = prepared(kind, booker(world, first + 3 * (number + WARM_UP) + turn))
            took = milliseconds(work)
            if number >= 0:
                times[kind].append(took)
        for kind, search in (("search", searched), ("sweep", swept)):
            took = milliseconds(lambda: search(world))  # noqa: B023
            if number >= 0:
                times[kind].append(took)
        kinds.append(kinds.pop(0))
    return times, statements


@contextmanager
def databases() -> Iterator[list[Any]]:
    """The engines that are here; without PostgreSQL it says so and goes on."""
    from tests import engines

    with tempfile.TemporaryDirectory(prefix="studiodesk-bench-") as folder:
        say("one flush to the disk here", f"{_flush(Path(folder)):.2f} ms")
        made: list[Any] = [engines.SQLite(Path(folder))]
        try:
            made.append(engines.PostgreSQL())
        except Exception as error:
            say(f"PostgreSQL does not answer ({type(error).__name__})", "not measured")
        try:
            yield made
        finally:
            for one in made:
                one.close()


def _flush(folder: Path) -> float:
    """The floor of SQLite is mostly this, so it stands beside the ratios: the slower, the smaller they are."""
    file = os.open(folder / "flush", os.O_CREAT | os.O_RDWR)
    try:
        times = []
        for _ in range(50):
            os.write(file, b"x" * 4096)
            times.append(milliseconds(lambda: os.fdatasync(file)))
        return statistics.median(times)
    finally:
        os.close(file)


def booking(rounds: int, sizes: tuple[int, ...]) -> None:
    """One line a figure for each database and each number of holds."""
    with databases() as engines:
        for engine in engines:
            with engine.copy():
                measured(engine.name, rounds, sizes)


def measured(name: str, rounds: int, sizes: tuple[int, ...], members: int = MEMBERS) -> None:
    world, medians = furnished(members), []
    by_rows, by_same = BARS[name]
    for number, size in enumerate(sizes):
        loaded = milliseconds(lambda: fill(world, size)) / 1000  # noqa: B023
        times, statements = rounds_of(world, rounds, number * 3 * (rounds + WARM_UP))
        medians.append({kind: statistics.median(some) for kind, some in times.items()})
        among = f"{NAMES[name]}, {size:,} holds: "
        say(f"{among}`book`, every rule on", spread(times["act"]), f"loaded in {loaded:.0f} s")
        times_as_much(f"{among}the same rows, guarded, bare driver", times["act"], times["rows"], by_rows)
        times_as_much(f"{among}the same statements, bare driver", times["act"], times["same"], by_same)
        within(f"{among}search of 14 days, 24 booths", times["search"], SEARCH_BAR_MS)
        within(f"{among}its sweep alone, nothing weighed", times["sweep"], SEARCH_BAR_MS)
    for kind, words in (("act", "`book`"), ("search", "the search"), ("sweep", "the sweep")):
        ratio = medians[-1][kind] / medians[0][kind]
        what = f"{NAMES[name]}: {words} at {sizes[-1]:,} to that at {sizes[0]:,} holds"
        say(what, f"{medians[-1][kind]:.1f} ms", f"{ratio:.2f} ×", f"≤ {FLAT_BAR} ×", ratio <= FLAT_BAR)
    what = f"{NAMES[name]}: statements of `book`, the transaction's two included"
    say(what, str(statements), "", f"≤ {STATEMENTS_BAR}", statements <= STATEMENTS_BAR)
