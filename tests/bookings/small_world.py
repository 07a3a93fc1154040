"""A small world for the state machine: eight quanta, five stations, two processors; and a model that knows no rule.

The model keeps sets of quanta and numbers.  It shares no line with the program: no spans, no lanes, no holds.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from studiodesk.stations import actions as stations
from tests import makers
from tests.bookings.test_kit_acts import item

OPENING = datetime(2026, 11, 26, 12, tzinfo=UTC)  # Thursday, 13:00 in Amsterdam
QUANTUM = timedelta(minutes=15)
QUANTA = 8
NOW = OPENING - timedelta(days=2)
HEADS = 3

#: station → (processes, shares the room, set-up, clear-up), in quanta
STATIONS = {
    "A": ({"dark", "safe"}, True, 0, 1),
    "B": ({"dark", "safe"}, True, 1, 0),
    "C": ({"dark"}, False, 0, 1),
    "S": (set(), False, 0, 0),
    "T": (set(), False, 0, 0),
}
PLACES = {"dark": 2, "safe": 1}
#: So many lenses there are, each kept a quantum longer than the stay.
LENSES, OUTLASTS = 2, 1
LIGHT = {"dark": "total darkness", "safe": "safelight"}


@dataclass
class World:
    stations: dict[str, Any] = field(default_factory=dict)
    processes: dict[str, Any] = field(default_factory=dict)
    people: list[Any] = field(default_factory=list)
    keyholder: Any = None
    lens: Any = None


def build() -> World:
    world = World()
    stations.describe_studio(
        name="Small", time_zone="Europe/Amsterdam", currency="EUR", grid_minutes=15, heads_at_once=HEADS
    )
    stations.set_opening(week={3: [(780, 780 + 15 * QUANTA)]})
    for code, places in PLACES.items():
        world.processes[code], _ = stations.describe_process(code=code, name=code, light=LIGHT[code])
        stations.describe_processor(
            code=f"P-{code}",
            name=code,
            process=world.processes[code],
            feed_width_mm=400,
            booths_at_once=places,
            now=NOW,
        )
    for code, (does, shares, set_up, clear_up) in STATIONS.items():
        world.stations[code], _ = stations.describe_station(
            code=code,
            name=code,
            kind="booth",
            processes=[world.processes[one] for one in sorted(does)],
            zone_name="room" if shares else "",
            set_up_minutes=15 * set_up,
            clear_up_minutes=15 * clear_up,
        )
    world.lens = item("lens", LENSES, outlasts_minutes=15 * OUTLASTS)
    world.people = [makers.member("Adri"), makers.member("Bente")]
    world.keyholder = makers.member("Kim", is_keyholder=True)
    return world


@dataclass
class Wanted:
    station: str
    process: str | None
    first: int
    length: int
    lenses: int = 0

    @property
    def with_lenses(self) -> set[int]:
        return set(range(self.first, self.first + self.length + OUTLASTS)) if self.lenses else set()

    @property
    def own(self) -> set[int]:
        return set(range(self.first, self.first + self.length))

    @property
    def whole(self) -> set[int]:
        _, _, set_up, clear_up = STATIONS[self.station]
        return set(range(self.first - set_up, self.first + self.length + clear_up))


class Model:
    """What stands, as a list; every question is answered by counting quanta again."""

    def __init__(self) -> None:
        self.standing: dict[int, Wanted] = {}
        self.shut: dict[str, set[int]] = defaultdict(set)

    def station_is_free(self, wanted: Wanted, instead_of: Wanted | None = None) -> bool:
        """The station does this and is open and free for it; nothing is said of anything else.

        Who stands in a closed quantum may go on standing there, whatever else they change.
        """
        does = STATIONS[wanted.station][0]
        if (wanted.process is None) != (not does) or (wanted.process and wanted.process not in does):
            return False
        stands = instead_of.whole if instead_of and instead_of.station == wanted.station else set()
        if not wanted.whole <= set(range(QUANTA)) or wanted.whole & self.shut[wanted.station] - stands:
            return False
        others = [one for one in self.standing.values() if one is not instead_of]
        return not any(one.station == wanted.station and one.whole & wanted.whole for one in others)

    def accepts(self, wanted: Wanted, instead_of: Wanted | None = None) -> bool:
        if not self.station_is_free(wanted, instead_of):
            return False
        others = [one for one in self.standing.values() if one is not instead_of]
        shares = STATIONS[wanted.station][1]
        for quantum in wanted.with_lenses:
            if sum(one.lenses for one in others if quantum in one.with_lenses) + wanted.lenses > LENSES:
                return False
        for quantum in wanted.own:
            here = [one for one in others if quantum in one.own]
            if len(here) + 1 > HEADS:
                return False
            if wanted.process and sum(one.process == wanted.process for one in here) + 1 > PLACES[wanted.process]:
                return False
            if shares and any(STATIONS[one.station][1] and one.process not in (None, wanted.process) for one in here):
                return False
        return True

    def held_quanta(self) -> dict[str, int]:
        """Quanta held in all, by sort of lane: what the raw rows have to add up to.

        A closed quantum is held once, whether somebody still stands in it or not.
        """
        held: dict[str, set[int]] = {code: set(quanta) for code, quanta in self.shut.items()}
        for one in self.standing.values():
            held.setdefault(one.station, set()).update(one.whole)
        return {
            "station": sum(len(quanta) for quanta in held.values()),
            "processor": sum(len(one.own) for one in self.standing.values() if one.process),
            "kit": sum(one.lenses * len(one.with_lenses) for one in self.standing.values()),
        }
