"""A harder quarter: small tanks, so that many limits are passed, and staff who refill early, late or never.

Every rate and life is invented.  What a tank has been asked for is reckoned here a second time, by the plain sums of
the trade (area, turnovers, silver by mass balance), so that staff know when to refill.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from random import Random

from .recipe import Recipe, Season, Trade
from .studio import Fed, Studio, simulate

WEEKS = 16
FIRST = date(2026, 7, 6)
MEASURE_ML = 50


@dataclass(frozen=True)
class Tank:
    """One bath of a processor.  ``care``: when staff refill it (``early``, ``late``, ``either``, ``never``)."""

    processor: str
    code: str
    name: str
    volume_ml: int
    dosing: str
    care: str
    replenish_ml_per_m2: int = 0
    stroke_ml: int = 0
    capacity_m2_per_l: float | None = None
    turnover_limit: float | None = None
    silver_g_per_m2: float = 0.0
    silver_limit_g_per_l: float | None = None
    age_limit_days: int | None = None
    first_refill: int = 0
    """Days after the quarter's first until the first refill that is written down."""


@dataclass(frozen=True)
class Entry:
    at: datetime
    processor: str
    bath: str
    event: str
    ml: int | None = None
    note: str = ""


@dataclass(frozen=True)
class Passage:
    """A limit that a tank really reached before it was refilled."""

    at: datetime
    processor: str
    bath: str
    limit: str


@dataclass(frozen=True)
class Quarter:
    studio: Studio
    until: date
    tanks: tuple[Tank, ...]
    entries: tuple[Entry, ...]
    house: tuple[Fed, ...]
    """Control strips, cleaning sheets and the house's own prints, which nobody booked."""
    passages: tuple[Passage, ...]


TANKS = (
    Tank("P-K", "dev", "Developer", 3400, "batch", "late", capacity_m2_per_l=2.6, age_limit_days=45),
    Tank(
        "P-K", "fix", "Fixer", 4000, "batch", "late", capacity_m2_per_l=4, silver_g_per_m2=1.0, silver_limit_g_per_l=2.1
    ),
    Tank("P-L", "dev", "Colour developer", 3000, "batch", "early", capacity_m2_per_l=1.9, age_limit_days=21),
    Tank(
        "P-L",
        "blix",
        "Bleach-fix",
        3000,
        "batch",
        "either",
        capacity_m2_per_l=5,
        silver_g_per_m2=0.65,
        silver_limit_g_per_l=1.7,
        age_limit_days=30,
    ),
    Tank("P-M", "dev", "Developer", 2300, "machine", "late", replenish_ml_per_m2=240, stroke_ml=12, turnover_limit=0.9),
    Tank(
        "P-M",
        "fix",
        "Fixer",
        2300,
        "machine",
        "either",
        replenish_ml_per_m2=300,
        stroke_ml=15,
        silver_g_per_m2=0.95,
        silver_limit_g_per_l=1.9,
    ),
    Tank(
        "P-N",
        "dev",
        "Paper developer",
        2000,
        "hand",
        "either",
        replenish_ml_per_m2=260,
        turnover_limit=0.8,
        first_refill=33,
    ),
    Tank("P-N", "fix", "Fixer", 5000, "batch", "never", capacity_m2_per_l=5),
)
TRADES = (
    Trade("rc", 18, 3.6, (("P-K", 4),), walk_ins_per_open_hour=0.02),
    Trade("ra4", 11, 3.2, (("P-L", 3),)),
    Trade("fb", 15, 3.2, (("P-M", 4),), walk_ins_per_open_hour=0.01),
    Trade("warm", 9, 3.4, (("P-N", 3),)),
)
NAMES = {
    "rc": ("Black-and-white, RC", "RC", "safelight"),
    "ra4": ("Colour, RA-4", "RA-4", "total darkness"),
    "fb": ("Black-and-white, fibre", "fibre", "safelight"),
    "warm": ("Warm-tone fibre", "warm-tone fibre", "safelight"),
}


@dataclass
class _Life:
    """What one tank has been asked for since its refill."""

    since: datetime
    area_mm2: int = 0
    given_ml: float = 0.0
    silver_g: float = 0.0
    reached: str = ""
    change_on: date | None = None
    early_at: float = 2.0
    strokes: int = 0


@dataclass
class _Staff:
    random: Random
    tank: Tank
    life: _Life
    entries: list[Entry] = field(default_factory=list)
    passages: list[Passage] = field(default_factory=list)

    def sheet(self, line: Fed) -> None:
        tank, life = self.tank, self.life
        life.area_mm2 += line.area_mm2
        life.silver_g += line.area_mm2 / 1e6 * tank.silver_g_per_m2
        if tank.dosing == "machine":
            due = life.area_mm2 / 1e6 * tank.replenish_ml_per_m2
            strokes = int(due // tank.stroke_ml)
            self._poured(tank.stroke_ml, strokes - life.strokes)
            life.strokes = strokes
        self._look(line.at)

    def _poured(self, ml: float, times: int = 1) -> None:
        self.life.given_ml += ml * times
        self.life.silver_g *= (self.tank.volume_ml / (self.tank.volume_ml + ml)) ** times

    def _look(self, at: datetime) -> None:
        share, limit = self.used()
        if share >= 1 and not self.life.reached:
            self.life.reached = limit
            self.passages.append(Passage(at, self.tank.processor, self.tank.code, limit))

    def used(self) -> tuple[float, str]:
        """The largest share of a limit of use that is used up, and which limit."""
        tank, life = self.tank, self.life
        litres = tank.volume_ml / 1000
        shares = [(0.0, "")]
        if tank.capacity_m2_per_l:
            shares.append((life.area_mm2 / 1e6 / (tank.capacity_m2_per_l * litres), "capacity"))
        if tank.turnover_limit:
            shares.append((life.given_ml / tank.volume_ml / tank.turnover_limit, "turnovers"))
        if tank.silver_limit_g_per_l:
            shares.append((life.silver_g / litres / tank.silver_limit_g_per_l, "silver"))
        return max(shares)

    def morning(self, day: date, at: datetime, number: int) -> None:
        """Before the house opens: refill what is due to be refilled."""
        tank = self.tank
        if tank.care == "never":
            return
        if number == tank.first_refill:
            self._refill(at)
            return
        if number < tank.first_refill:
            return
        share, _ = self.used()
        life = self.life
        too_old = tank.age_limit_days is not None and at >= life.since + timedelta(days=tank.age_limit_days)
        if life.change_on is None and (share >= life.early_at or share >= 1 or too_old):
            late = share >= life.early_at and share < 1
            life.change_on = day if late or too_old else day + timedelta(days=self.random.choice([0, 1, 1, 2, 3, 5]))
        if life.change_on is not None and day >= life.change_on:
            self._refill(at)

    def _refill(self, at: datetime) -> None:
        care = self.tank.care
        early = care == "early" or (care == "either" and self.random.random() < 0.4)
        self.life = _Life(at, early_at=self.random.uniform(0.75, 0.95) if early else 2.0)
        self.entries.append(Entry(at, self.tank.processor, self.tank.code, "refill"))

    def evening(self, at: datetime) -> None:
        """After the last sheet: by hand, whole measures of what is outstanding; forgotten now and then."""
        tank, life = self.tank, self.life
        if tank.dosing != "hand" or life.early_at == 0.0 or self.random.random() < 0.2:
            return
        outstanding = life.area_mm2 / 1e6 * tank.replenish_ml_per_m2 - life.given_ml
        ml = MEASURE_ML * math.floor(outstanding / MEASURE_ML)
        if ml > 0:
            self._poured(ml)
            self.entries.append(Entry(at, tank.processor, tank.code, "given", ml))
            self._look(at)


def harder_quarter(seed: int, weeks: int = WEEKS, first: date = FIRST) -> Quarter:
    """``weeks`` of a busy house and its tanks; bookings made in that time for the four weeks after it stand as well."""
    recipe = Recipe(
        trades=TRADES,
        weeks_before=weeks,
        members=26,
        spread=0.8,
        season=Season(of_demand=0.2, of_rate=0.1, period_days=150, first=Random(seed).uniform(0, 150)),
    )
    studio = simulate(recipe, seed, first=first)
    until = first + timedelta(days=7 * weeks)
    random = Random(f"staff {seed}")
    house = _house(random, studio, until)
    end = studio.at(until, time(0))
    through = sorted([*house, *(line for line in studio.sheets_through() if line.at < end)])
    staff = [_Staff(random, tank, _Life(datetime.min.replace(tzinfo=UTC))) for tank in TANKS]
    _live(studio, until, through, staff)
    entries = sorted((e for one in staff for e in one.entries), key=lambda e: (e.at, e.processor, e.bath, e.event))
    passages = sorted((p for one in staff for p in one.passages), key=lambda p: (p.at, p.processor, p.bath))
    return Quarter(studio, until, TANKS, tuple(entries), tuple(house), tuple(passages))


def _live(studio: Studio, until: date, through: list[Fed], staff: list[_Staff]) -> None:
    lines = iter([*through, None])
    line = next(lines)
    for number in range((until - studio.first).days):
        day = studio.first + timedelta(days=number)
        for one in staff:
            one.morning(day, studio.at(day, time(8)), number)
        evening = studio.at(day, time(23))
        while line is not None and line.at < evening:
            if line.kind != "cleaning":
                for one in staff:
                    if one.tank.processor == line.processor:
                        one.sheet(line)
            line = next(lines)
        for one in staff:
            if number >= one.tank.first_refill:
                one.evening(evening)


def _house(random: Random, studio: Studio, until: date) -> list[Fed]:
    """Each open morning a control strip and two cleaning sheets, now and then a print of the house's own."""
    found = []
    for day, spans in studio.opening.items():
        if not spans or day >= until:
            continue
        for machine in studio.machines:
            at = spans[0][0] + timedelta(minutes=random.randint(1, 30))
            found.append(Fed(at, machine.code, "203x254", 2, "cleaning"))
            found.append(Fed(at + timedelta(minutes=5), machine.code, "50x203", 1, "control strip"))
            if random.random() < 0.1:
                found.append(Fed(at + timedelta(minutes=9), machine.code, "203x254", random.randint(1, 3), "house"))
    return found
