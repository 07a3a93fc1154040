"""When each tank's limit was met, straight from a studio's files: csv, fractions and ``tests.upkeep.recount`` alone.

Nothing of studiodesk is imported.  Asked is what a forecast made at a moment speaks of: the tank as it stood then,
and the sheets that really went through afterwards, whatever was poured anew meanwhile.  Replenisher is taken to be
given as it falls due.
"""

from __future__ import annotations

import tomllib
from collections import defaultdict
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from tests.upkeep.recount import EVENT_ORDER, NL_PER_ML, Tank, figure, in_order, moment, rows


@dataclass(frozen=True)
class Came:
    """The limit that was met first, and when; ``limit`` None: not within the files."""

    at: datetime | None
    limit: str | None


class Truth:
    """A folder in the import formats, read once."""

    def __init__(self, folder: Path) -> None:
        with (folder / "studio.toml").open("rb") as file:
            studio = tomllib.load(file, parse_float=str)
        self.zone = ZoneInfo(studio["studio"]["time_zone"])
        self.baths: dict[tuple[str, str], dict[str, Any]] = {
            (processor["code"], bath["code"]): bath
            for processor in studio["processors"]
            for bath in processor.get("baths", [])
        }
        sizes = {size["code"]: int(size["width_mm"]) * int(size["length_mm"]) for size in studio["sheet_sizes"]}
        self.through: dict[str, list[Any]] = defaultdict(list)
        moments = []
        for row in rows(folder, "feeds.csv"):
            at = moment(row["fed_at"])
            moments.append(at)
            area = 0 if row["kind"] == "cleaning" else sizes[row["sheet"]]
            key = (at, 1, row["sheet"], row["kind"], int(row["sheets"]), row.get("member", ""), row.get("booking", ""))
            self.through[row["processor"]].append((key, area, int(row["sheets"])))
        self.done: dict[tuple[str, str], list[Any]] = defaultdict(list)
        self.refills: dict[tuple[str, str], list[datetime]] = defaultdict(list)
        for row in rows(folder, "bath_events.csv"):
            bath, at = (row["processor"], row["bath"]), moment(row["at"])
            moments.append(at)
            if row["event"] == "refill":
                self.refills[bath].append(at)
            else:
                rank = EVENT_ORDER.index(row["event"])
                key = (at, 0, rank, Fraction(row.get("ml") or 0), row.get("note") or "")
                self.done[bath].append((key, row["event"]))
        never = datetime.max.replace(tzinfo=UTC)
        self.first, self.last = min(moments, default=never), max(moments, default=never)
        self.lines = {key: in_order(self.through[key[0]], self.done[key]) for key in self.baths}

    def day(self, at: datetime) -> date:
        return at.astimezone(self.zone).date()

    def tank(self, key: tuple[str, str], at: datetime) -> Tank:
        """The tank as the lines up to ``at`` make it."""
        since = max((when for when in self.refills[key] if when <= at), default=None)
        tank = Tank(self.baths[key], since, self.zone)
        for when, what, *more in self.lines[key]:
            if when <= at and (since is None or when >= since):
                if what is None:
                    tank.sheets(when, *more)
                else:
                    tank.event(when, what, *more)
        tank.wait(at)
        return tank

    def met(self, key: tuple[str, str], tank: Tank) -> str | None:
        """A limit by use that the tank has met, or that a person condemned it."""
        bath = self.baths[key]
        if tank.condemned:
            return "condemned"
        wears = bath["dosing"] not in ("one-shot", "running water")
        litres = tank.volume / (1000 * NL_PER_ML)
        if "capacity_m2_per_l" in bath and wears:
            can = figure(bath, "capacity_m2_per_l", 10**6) * 10**6 * (litres + tank.working / (1000 * NL_PER_ML))
            if tank.worn >= can:
                return "capacity"
        turned = (tank.given + tank.extra) / tank.volume
        if "turnover_limit" in bath and tank.doses and turned >= Fraction(str(bath["turnover_limit"])):
            return "turnovers"
        if "silver_limit_g_per_l" in bath and ((tank.silver_per_m2 is not None and wears) or tank.was_measured):
            level = (tank.volume - tank.short) / (1000 * NL_PER_ML)
            if level and tank.silver / float(level) >= float(bath["silver_limit_g_per_l"]):
                return "silver"
        return None

    def age_ends(self, key: tuple[str, str], at: datetime) -> datetime | None:
        bath = self.baths[key]
        since = max((when for when in self.refills[key] if when <= at), default=None)
        if since is None or "age_limit_days" not in bath or bath["dosing"] in ("one-shot", "running water"):
            return None
        return since + timedelta(seconds=float(figure(bath, "age_limit_days", 86400) * 86400))

    def passed(self, key: tuple[str, str], at: datetime) -> bool:
        """Whether some limit was behind already."""
        ends = self.age_ends(key, at)
        return self.met(key, self.tank(key, at)) is not None or (ends is not None and ends <= at)

    def came(self, key: tuple[str, str], at: datetime) -> Came:
        """What was met first after ``at``, by the sheets that came or by age."""
        by_use, limit = self._by_use(key, at)
        ends = self.age_ends(key, at)
        if ends is not None and ends <= self.last and (by_use is None or self.day(ends) <= self.day(by_use)):
            return Came(ends, "age")
        return Came(by_use, limit)

    def _by_use(self, key: tuple[str, str], at: datetime) -> tuple[datetime | None, str | None]:
        tank = self.tank(key, at)
        for when, what, *more in self.lines[key]:
            if when <= at or what is not None:
                continue
            area, number = more
            for _ in range(number):
                tank.sheets(when, area, 1)
                if tank.dosing == "hand":
                    given_as_due(tank)
                if limit := self.met(key, tank):
                    return when, limit
        return None, None

    def area_until(self, processor: str, at: datetime, day: date) -> int:
        """mm² after ``at`` up to the end of a local day."""
        return sum(
            area * number for (when, *_), area, number in self.through[processor] if when > at and self.day(when) <= day
        )


def given_as_due(tank: Tank) -> None:
    """By hand, as a person would who gives each measure when it falls due."""
    while tank.due - tank.given >= tank.unit:
        tank.given += tank.unit
        tank.overflow(tank.unit)
