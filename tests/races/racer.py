"""What one of the racing processes does.  Each is a real process with a Django and a connection of its own."""

from __future__ import annotations

import random
import time
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

NOW = datetime(2026, 11, 25, 14, tzinfo=UTC)
#: The first Tuesday of December 2026, 10:00 in Amsterdam; one slot a day of the six that are open.
FIRST = datetime(2026, 12, 1, 9, tzinfo=UTC)
HOUR = timedelta(hours=1)


@dataclass
class Told:
    """What a racer brings home."""

    won: list[int] = field(default_factory=list)
    refused: int = 0
    busy: int = 0
    other: list[str] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)
    began: float = 0.0
    ended: float = 0.0


def slot(number: int) -> tuple[datetime, datetime]:
    """Two hours on one of the weeks' open days (Monday is closed), always inside opening hours."""
    week, day = divmod(number, 6)
    starts = FIRST + timedelta(days=7 * week + day) + 2 * HOUR
    return starts, starts + 2 * HOUR


def use(url: str) -> None:
    """A Django of this process, on the database of the race."""
    import tests.races.warm  # noqa: F401  already there if the fork server did it
    from tests import engines

    engines.use(url)


def _through_the_act(member: Any, station: Any, process: Any, starts: datetime, ends: datetime) -> int:
    from studiodesk.bookings import actions

    return actions.book(
        member=member, station=station, process=process, starts=starts, ends=ends, now=NOW, by=member
    ).pk


def _check_then_insert(lane: int, starts: datetime, ends: datetime, *, inside: bool) -> int | None:
    """The mistake: look, then write, and trust that nobody came between.  ``inside``: both in one transaction."""
    from contextlib import nullcontext

    from django.db import transaction

    from studiodesk.bookings.models import Hold

    with transaction.atomic() if inside else nullcontext():
        if Hold.objects.filter(lane_id=lane, starts__lt=ends, ends__gt=starts).exists():
            return None
        with transaction.atomic():
            return Hold.objects.create(lane_id=lane, starts=starts, ends=ends, cause="closure").pk


def race(url: str, number: int, how: str, rounds: int, barrier: Any, home: Any) -> None:
    """Ask ``rounds`` times, each time from the barrier together with all the others."""
    use(url)
    from django.db import DatabaseError, connection

    from studiodesk.acts import Busy
    from studiodesk.answers import Refused
    from studiodesk.people.models import Member
    from studiodesk.stations.models import Station

    members = list(Member.objects.order_by("pk"))
    booths = list(Station.objects.prefetch_related("processes").order_by("pk"))
    by_code = {booth.code: booth for booth in booths}
    scanner = by_code["S1"]
    lane = scanner.resource.lanes.get().pk
    member, told, dice = members[number % len(members)], Told(), random.Random(number)
    connection.ensure_connection()
    barrier.wait()
    told.began = time.time()
    for turn in range(rounds):
        if how != "mixed":
            barrier.wait()
        starts, ends = slot(turn)
        station, process = scanner, None
        if how == "mixed":
            # Few days, four booths with two processes, starts that overlap: everything gets in everything's way.
            station = by_code[dice.choice(["E1", "E2", "E3", "E4"])]
            process = dice.choice(list(station.processes.all()))
            starts += dice.randrange(-8, 8) * timedelta(minutes=15) - timedelta(days=7 * (turn // 24))
            ends = starts + dice.choice([1, 2, 3]) * HOUR
        before = time.perf_counter()
        try:
            if how in ("rush", "mixed"):
                made = _through_the_act(member, station, process, starts, ends)
            else:
                made = _check_then_insert(lane, starts, ends, inside=how == "inside")
            if made is None:
                told.refused += 1
            else:
                told.won.append(made)
        except Refused:
            told.refused += 1
        except Busy:
            told.busy += 1
        except DatabaseError as error:
            told.other.append(f"{type(error).__name__}: {error}"[:200])
        told.seconds.append(time.perf_counter() - before)
    told.ended = time.time()
    connection.close()
    home.put(told)
