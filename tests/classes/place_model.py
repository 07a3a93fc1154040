"""Who has a place and who waits, reckoned without a line of the code: what the places are held against."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from tests.cast import NOON_ISH

SEATS = 4
STARTS = NOON_ISH + timedelta(days=14)
#: An offer ends so long before the class; later nobody is asked.
LAST_CALL = timedelta(hours=1)


@dataclass
class Party:
    heads: int
    state: str
    until: datetime | None = None
    lapsed: int = 0


@dataclass
class Model:
    """Who has what, by first come first served; keys are in the order of the line."""

    parties: dict[int, Party] = field(default_factory=dict)
    starts: datetime = STARTS

    def left(self) -> int:
        return SEATS - sum(one.heads for one in self.parties.values() if one.state in ("asked", "offered", "booked"))

    def serve(self, now: datetime, but: Collection[int] = ()) -> int:
        served = 0
        until = min(now + timedelta(hours=24), self.starts - LAST_CALL)
        for key, one in self.parties.items():
            if one.state == "waiting" and key not in but and one.heads <= self.left() and now < until:
                one.state, one.until = "offered", until
                served += 1
        return served

    def end(self, key: int, now: datetime) -> None:
        self.parties[key].state, self.parties[key].until = "ended", None
        self.serve(now)

    def lapse(self, now: datetime) -> int:
        due = sorted(
            (one.until, key) for key, one in self.parties.items() if one.until is not None and one.until <= now
        )
        for _until, key in due:
            one = self.parties[key]
            again = one.state == "offered" and one.lapsed == 0
            one.state, one.until = ("waiting" if again else "ended"), None
            one.lapsed += again
            self.serve(now, but=[key])
        return len(due) + self.serve(now, but=[key for _until, key in due])

    def having(self, *states: str) -> list[int]:
        return sorted(key for key, one in self.parties.items() if one.state in states)
