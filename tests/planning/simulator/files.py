"""A quarter as the files of docs/formats.md."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from pathlib import Path

from .quarter import MEASURE_ML, NAMES, Quarter, Tank
from .recipe import LATE_WEEK, SIZES
from .studio import BETWEEN, Booking, Studio

DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
CLEAR_UP_MINUTES = BETWEEN


def _iso(at: datetime | None) -> str:
    return "" if at is None else at.isoformat().replace("+00:00", "Z")


def stations(studio: Studio, bookings: Iterable[Booking], until: datetime) -> dict[str, str]:
    """Reference → station: each process has as many booths as places, and a stay takes the first that is free.

    Bookings cancelled by ``until`` hold nothing and stand at the first booth.  Those that will be cancelled only later
    still hold theirs: they take what the others leave, and one that finds no booth is not in the answer.
    """
    held: dict[str, list[list[tuple[datetime, datetime]]]] = {machine.process: [] for machine in studio.machines}
    for machine in studio.machines:
        held[machine.process] += [[] for _ in range(machine.places)]
    found = {}
    for booking in sorted(bookings, key=lambda one: (one.cancelled_at is not None, one.starts, one.reference)):
        if booking.cancelled_at is not None and booking.cancelled_at <= until:
            found[booking.reference] = f"{booking.process}-1"
            continue
        starts, ends = booking.starts, booking.ends + timedelta(minutes=CLEAR_UP_MINUTES)
        for number, booth in enumerate(held[booking.process], start=1):
            if all(other_ends <= starts or ends <= other_starts for other_starts, other_ends in booth):
                booth.append((starts, ends))
                found[booking.reference] = f"{booking.process}-{number}"
                break
    return found


def _toml(**values: object) -> list[str]:
    def said(value: object) -> str:
        if isinstance(value, str):
            return '"' + value + '"'
        if isinstance(value, (list, tuple)):
            return "[" + ", ".join(said(one) for one in value) + "]"
        return str(value)

    return [f"{key} = {said(value)}" for key, value in values.items() if value is not None]


def _bath(tank: Tank) -> list[str]:
    return [
        "  [[processors.baths]]",
        *_toml(
            code=tank.code,
            name=tank.name,
            volume_ml=tank.volume_ml,
            dosing=tank.dosing,
            replenish_ml_per_m2=tank.replenish_ml_per_m2 or None,
            stroke_ml=tank.stroke_ml or None,
            measure_ml=MEASURE_ML if tank.dosing == "hand" else None,
            capacity_m2_per_l=tank.capacity_m2_per_l,
            turnover_limit=tank.turnover_limit,
            age_limit_days=tank.age_limit_days,
            silver_g_per_m2=tank.silver_g_per_m2 or None,
            silver_limit_g_per_l=tank.silver_limit_g_per_l,
        ),
    ]


def studio_toml(quarter: Quarter) -> str:
    lines = ["# Written by tests/planning/simulator: every rate and life is invented.", "[studio]"]
    lines += _toml(name="Ostermill, a harder quarter", time_zone=quarter.studio.zone.key, currency="EUR")
    opening = {DAYS[day]: [f"{a}-{b}" for a, b in spans] for day, spans in LATE_WEEK.items()}
    lines += ["[opening]", *_toml(**opening)]
    for day, spans in quarter.studio.opening.items():
        if not spans and day.weekday() in LATE_WEEK:
            lines += ["[[closures]]", f"from = {day}", f"to = {day}", 'reason = "closed"']
    for code, (name, paper, light) in NAMES.items():
        lines += ["[[processes]]", *_toml(code=code, name=name, paper=paper, light=light)]
    for machine in quarter.studio.machines:
        lines.append("[[processors]]")
        name = f"Processor {machine.code[-1]}"
        lines += _toml(code=machine.code, name=name, process=machine.process, feed_width_mm=508)
        lines += _toml(booths_at_once=machine.places)
        for tank in quarter.tanks:
            if tank.processor == machine.code:
                lines += _bath(tank)
    for machine in quarter.studio.machines:
        for number in range(1, machine.places + 1):
            code = f"{machine.process}-{number}"
            lines.append("[[stations]]")
            lines += _toml(code=code, name=f"Booth {code}", kind="enlarger booth", processes=[machine.process])
            lines += _toml(clear_up_minutes=CLEAR_UP_MINUTES)
    for code, (narrow, long) in SIZES.items():
        lines += ["[[sheet_sizes]]", *_toml(code=code, name=code, width_mm=narrow, length_mm=long)]
    return "\n".join(lines) + "\n"


def _write(path: Path, header: str, rows: Iterable[Sequence[object]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(header.split(","))
        writer.writerows(rows)


def write(quarter: Quarter, folder: Path) -> None:
    """studio.toml, members.csv, bookings.csv, feeds.csv and bath_events.csv into ``folder`` (made if missing).

    Only what was known when the quarter ended: bookings made by then, with cancellations by then, and no sheets later.
    """
    studio, folder = quarter.studio, Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "studio.toml").write_text(studio_toml(quarter), encoding="utf-8")
    end = studio.at(quarter.until)
    joined = studio.first.replace(day=1)
    _write(
        folder / "members.csv",
        "number,name,email,joined_on",
        [(code, f"Member {code[1:]}", f"{code.lower()}@example.org", joined) for code in studio.members],
    )
    places = stations(studio, [booking for booking in studio.bookings if booking.made_at <= end], end)
    bookings = [booking for booking in studio.bookings if booking.reference in places]
    _write(
        folder / "bookings.csv",
        "reference,member,station,process,start,end,made_at,cancelled_at,arrived_at",
        [
            (
                booking.reference,
                booking.member,
                places[booking.reference],
                booking.process,
                _iso(booking.starts),
                _iso(booking.ends),
                _iso(booking.made_at),
                _iso(booking.cancelled_at if booking.cancelled_at and booking.cancelled_at <= end else None),
                _iso(booking.arrived_at if booking.starts < end else None),
            )
            for booking in bookings
        ],
    )
    fed = [(line, booking.member, booking.reference) for booking in bookings for line in booking.fed if line.at < end]
    fed += [(line, "", "") for line in (*studio.walk_ins, *quarter.house) if line.at < end]
    _write(
        folder / "feeds.csv",
        "fed_at,processor,member,booking,sheet,sheets,kind",
        [
            (_iso(line.at), line.processor, member, reference, line.size, line.sheets, line.kind)
            for line, member, reference in sorted(fed)
        ],
    )
    _write(
        folder / "bath_events.csv",
        "at,processor,bath,event,ml,note",
        [(_iso(e.at), e.processor, e.bath, e.event, "" if e.ml is None else e.ml, e.note) for e in quarter.entries],
    )
