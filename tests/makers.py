"""Builds data for tests by calling the acts: a small house and whoever a test needs in it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from itertools import count
from typing import Any

from studiodesk.chemistry.models import Bath, BathSetting, SheetSize
from studiodesk.people.models import Member
from studiodesk.stations import actions as stations
from studiodesk.stations.models import Process, Processor, Station, Studio
from studiodesk.units import MM2_PER_M2, pl_from_ml, scaled, ul_per_m2_from_ml_per_m2

LONG_AGO = datetime(2026, 1, 1, tzinfo=UTC)
_numbers = count(1)


@dataclass
class House:
    """Ostermill, small: two cubicles and two booths in one shared room, a colour and an RC processor, a scanner.

    Open every day from 10:00 to 22:00 but Monday.
    """

    studio: Studio
    processes: dict[str, Process] = field(default_factory=dict)
    processors: dict[str, Processor] = field(default_factory=dict)
    stations: dict[str, Station] = field(default_factory=dict)
    sizes: dict[str, SheetSize] = field(default_factory=dict)
    baths: dict[tuple[str, str], Bath] = field(default_factory=dict)


def house(*, heads_at_once: int | None = 24) -> House:
    """The house of the cast, described through the acts that loading a studio uses."""
    stations.describe_studio(
        name="Ostermill Darkroom",
        time_zone="Europe/Amsterdam",
        currency="EUR",
        grid_minutes=15,
        heads_at_once=heads_at_once,
    )
    stations.set_opening(week={day: [(600, 1320)] for day in range(1, 7)})
    made = House(Studio.objects.get())
    for code, name, light, paper in (
        ("rc", "Black-and-white, RC", "safelight", "RC"),
        ("ra4", "Colour, RA-4", "total darkness", "RA-4"),
    ):
        made.processes[code], _ = stations.describe_process(code=code, name=name, light=light, paper=paper)
    for code, name, process, width, booths, warm, through in (
        ("P-RC", "RC processor", "rc", 508, 4, 30, 3),
        ("P-CO", "Colour processor", "ra4", 406, 2, 45, 6),
    ):
        made.processors[code], _ = stations.describe_processor(
            code=code,
            name=name,
            process=made.processes[process],
            feed_width_mm=width,
            shortest_feed_mm=100,
            warm_up_minutes=warm,
            dry_to_dry_minutes=through,
            booths_at_once=booths,
            now=LONG_AGO,
        )
    for code, kind, processes, zone, clear_up in (
        ("E1", "enlarger booth", ["rc", "ra4"], "", 15),
        ("E2", "enlarger booth", ["rc"], "", 15),
        ("E3", "enlarger booth", ["rc", "ra4"], "shared room", 15),
        ("E4", "enlarger booth", ["rc", "ra4"], "shared room", 15),
        ("S1", "scanning station", [], "", 0),
    ):
        made.stations[code], _ = stations.describe_station(
            code=code,
            name=f"Booth {code[1]}" if kind == "enlarger booth" else "Scanning station",
            kind=kind,
            processes=[made.processes[name] for name in processes],
            zone_name=zone,
            clear_up_minutes=clear_up,
        )
    for code, name, width, length in (
        ("50x203", "strip of 8×10 in", 50, 203),
        ("203x254", "8×10 in", 203, 254),
        ("406x508", "16×20 in", 406, 508),
    ):
        made.sizes[code] = SheetSize.objects.create(code=code, name=name, width_mm=width, length_mm=length)
    bath(made, "P-RC", "dev", dosing="machine", volume_ml=9000, rate=240, unit_ml=12, age_days=42)
    bath(made, "P-RC", "fix", dosing="hand", volume_ml=9000, rate=500, unit_ml=50, silver=("0.95", "2.0"))
    bath(made, "P-CO", "dev", dosing="batch", volume_ml=3000, capacity="1.6", age_days=21)
    return made


def bath(
    made: House,
    processor: str,
    code: str,
    *,
    dosing: str,
    volume_ml: int,
    rate: object = None,
    unit_ml: object = None,
    capacity: object = None,
    age_days: int | None = None,
    silver: tuple[object, object] | None = None,
    idle_ml_per_day: object = 0,
) -> Bath:
    """A bath with one version of its figures, in force since long ago."""
    made.baths[processor, code] = row = Bath.objects.create(
        processor=made.processors[processor], code=code, name=code.capitalize(), position=len(made.baths)
    )
    BathSetting.objects.create(
        bath=row,
        in_force_from=datetime(1970, 1, 1, tzinfo=UTC),
        entered_at=LONG_AGO,
        dosing=dosing,
        volume_pl=pl_from_ml(volume_ml),
        rate_ul_per_m2=None if rate is None else ul_per_m2_from_ml_per_m2(rate),
        unit_pl=None if unit_ml is None else pl_from_ml(unit_ml),
        capacity_mm2_per_l=None if capacity is None else scaled(capacity, MM2_PER_M2),
        age_limit_s=None if age_days is None else int(timedelta(days=age_days).total_seconds()),
        silver_ug_per_m2=None if silver is None else scaled(silver[0], 1_000_000),
        silver_limit_ug_per_l=None if silver is None else scaled(silver[1], 1_000_000),
        idle_pl_per_day=pl_from_ml(idle_ml_per_day),
    )
    return row


def member(name: str = "Adri", **roles: Any) -> Member:
    """A person with an address of their own; ``is_tutor=True`` and the like give roles."""
    number = next(_numbers)
    person = Member(
        number=f"T{number:06}",
        name=name,
        email=f"{name.lower()}{number}@example.org",
        joined_on=date(2026, 1, 15),
        **roles,
    )
    person.set_password("a long enough password")
    person.save()
    return person
