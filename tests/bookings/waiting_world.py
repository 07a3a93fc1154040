"""A small world for the waiting list: eight quanta, two stations; and a model of who is offered what.

The model keeps sets of quanta, and one list that is the line.  It shares nothing with the program: no spans, no
queries, no needs; whom it serves it finds by trying every quantum.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Any

from studiodesk.stations import actions as stations
from tests import makers

OPENING = datetime(2026, 11, 26, 12, tzinfo=UTC)  # Thursday, 13:00 in Amsterdam
DAY, FIRST_MINUTE = date(2026, 11, 26), 13 * 60
QUANTUM = timedelta(minutes=15)
QUANTA = 8
BEGINNING = OPENING - timedelta(days=20)
#: station → quanta of clear-up
STATIONS = {"A": 1, "B": 0}
MOST_RUN_OUT = 2


@dataclass
class World:
    stations: dict[str, Any] = field(default_factory=dict)
    people: list[Any] = field(default_factory=list)


def build() -> World:
    world = World()
    stations.describe_studio(
        name="Small", time_zone="Europe/Amsterdam", currency="EUR", grid_minutes=15, heads_at_once=None
    )
    stations.set_opening(week={3: [(FIRST_MINUTE, FIRST_MINUTE + 15 * QUANTA)]})
    for code, clear_up in STATIONS.items():
        world.stations[code], _ = stations.describe_station(
            code=code, name=code, kind="bench", processes=[], zone_name="", clear_up_minutes=15 * clear_up
        )
    world.people = [makers.member(name) for name in ("Adri", "Bente", "Cas")]
    return world


@dataclass
class Stay:
    """Somebody has a station; ``wish`` is what it was offered for, as long as nobody has answered."""

    station: str
    first: int
    length: int
    who: int
    wish: int | None = None
    until: datetime | None = None

    @property
    def own(self) -> set[int]:
        return set(range(self.first, self.first + self.length))

    @property
    def whole(self) -> set[int]:
        return set(range(self.first, self.first + self.length + STATIONS[self.station]))


@dataclass
class Wish:
    key: int
    who: int
    window: set[int]
    length: int
    state: str = "waiting"
    run_out: int = 0
    offered_before: set[int] = field(default_factory=set)


class Model:
    def __init__(self) -> None:
        self.stays: dict[int, Stay] = {}  # by a number of the model's own
        self.line: list[Wish] = []
        self.count = 0

    def add(self, stay: Stay) -> int:
        self.count += 1
        self.stays[self.count] = stay
        return self.count

    def fits(self, stay: Stay) -> bool:
        if not stay.whole <= set(range(QUANTA)):
            return False
        return not any(one.station == stay.station and one.whole & stay.whole for one in self.stays.values())

    def wish_of(self, key: int | None) -> Wish:
        return next(wish for wish in self.line if wish.key == key)

    def serve(self, until: datetime) -> None:
        """Down the line, each gets the earliest quantum at which anything is to be had for them."""
        for wish in self.line:
            if wish.state != "waiting":
                continue
            here = set().union(*(stay.own for stay in self.stays.values() if stay.who == wish.who))
            for first in range(QUANTA):
                quanta = set(range(first, first + wish.length))
                if not quanta <= wish.window or quanta & (here | wish.offered_before):
                    continue
                found = next(
                    (
                        stay
                        for code in sorted(STATIONS)
                        if self.fits(stay := Stay(code, first, wish.length, wish.who, wish.key, until))
                    ),
                    None,
                )
                if found:
                    self.add(found)
                    wish.state = "offered"
                    wish.offered_before |= quanta
                    break

    def give_back(self, number: int, until: datetime) -> None:
        """Cancelled, or an offer declined: the wish stays where it was in the line."""
        stay = self.stays.pop(number)
        if stay.wish is not None:
            wish = self.wish_of(stay.wish)
            if wish.state == "offered":
                wish.state = "waiting"
        self.serve(until)

    def run_out(self, number: int, until: datetime) -> None:
        stay = self.stays.pop(number)
        wish = self.wish_of(stay.wish)
        wish.run_out += 1
        wish.state = "waiting" if wish.run_out < MOST_RUN_OUT else "ended"
        self.line.remove(wish)
        self.line.append(wish)
        self.serve(until)

    def take(self, number: int) -> None:
        stay = self.stays[number]
        self.wish_of(stay.wish).state = "served"
        stay.wish = stay.until = None

    def stop(self, wish: Wish, until: datetime) -> None:
        was, wish.state = wish.state, "ended"
        if was == "offered":
            number = next(number for number, stay in self.stays.items() if stay.wish == wish.key)
            self.give_back(number, until)

    def standing(self) -> list[tuple[str, int, int, int, int | None]]:
        return sorted((stay.station, stay.first, stay.length, stay.who, stay.wish) for stay in self.stays.values())  # type: ignore[type-var]
