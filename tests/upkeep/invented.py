"""Studios that nobody has seen: a description and a history drawn from a seed, as files."""

from __future__ import annotations

import csv
import io
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

ZONES = [
    "Pacific/Auckland",
    "America/St_Johns",
    "Asia/Kathmandu",
    "Australia/Lord_Howe",
    "Pacific/Kiritimati",
    "Africa/Cairo",
    "America/Sao_Paulo",
]
CURRENCIES = ["NZD", "JPY", "KWD", "CAD", "CLF"]
DOSINGS = ["machine", "hand", "batch", "one-shot", "running water"]
KINDS = ["print", "test strip", "reject", "control strip", "house", "cleaning"]
#: Around both changes of the clock in either half of the world.
STARTS = [datetime(2026, 3, 20, tzinfo=UTC), datetime(2026, 9, 20, tzinfo=UTC), datetime(2026, 10, 25, tzinfo=UTC)]
DAYS = 24


def iso(at: datetime, random: Random) -> str:
    """The same instant in one of the ways that a file may write it."""
    if random.random() < 0.5:
        return at.isoformat().replace("+00:00", "Z")
    return at.astimezone(ZoneInfo(random.choice(ZONES))).isoformat()


class Invented:
    """One studio: ``studio`` as TOML would give it, and the rows of its five files."""

    def __init__(self, seed: int) -> None:
        self.random = random = Random(seed)
        self.start = random.choice(STARTS)
        self.end = self.start + timedelta(days=DAYS)
        self.processes = [f"p{n}" for n in range(random.randint(1, 2))]
        self.processors = [self._processor(f"P{n}", process) for n, process in enumerate(self.processes)]
        # a second machine for the first process, so that its bookings have to be parted
        self.processors.append(self._processor("Q 1", self.processes[0]))
        self.sizes = [self._size(n) for n in range(random.randint(2, 5))]
        self.stations = [f"S{n}" for n in range(random.randint(3, 6))]
        self.clear_up = {station: random.choice([0, 15, 45]) for station in self.stations}
        self.set_up = {station: random.choice([0, 10]) for station in self.stations}
        self.members = [f"m-{n}" for n in range(random.randint(2, 5))]
        self.bookings = self._bookings()
        self.feeds = [row for _ in range(random.randint(60, 120)) for row in self._feed()]
        self.events = self._events()

    def _moment(self, from_: datetime | None = None) -> datetime:
        """A moment of the history, often one that was drawn before: equal instants are where orders go wrong."""
        seconds = self.random.randrange(0, DAYS * 86_400 // 1800) * 1800
        return max(self.start + timedelta(seconds=seconds), from_ or self.start)

    def _decimal(self, least: float, most: float, places: int) -> str:
        return f"{self.random.uniform(least, most):.{places}f}"

    def _bath(self, code: str, dosing: str) -> dict[str, Any]:
        random = self.random
        bath: dict[str, Any] = {"code": code, "name": f"Bath {code}", "dosing": dosing}
        bath["volume_ml"] = random.choice([2000, 9000, "1234.5"])
        if dosing in ("machine", "hand") or random.random() < 0.2:
            bath["replenish_ml_per_m2"] = random.choice([240, self._decimal(80, 900, 1), self._decimal(80, 900, 3)])
        if dosing == "machine":
            bath["stroke_ml"] = random.choice([12, self._decimal(3, 30, 2)])
        if dosing == "hand" and random.random() < 0.5:
            bath["measure_ml"] = random.choice([100, self._decimal(20, 60, 1)])
        if random.random() < 0.5:
            bath["idle_percent_per_day"] = self._decimal(0.1, 3, 2)
        for key, text in (
            ("capacity_m2_per_l", self._decimal(0.5, 3, 4)),
            ("age_limit_days", random.choice([7, 21, "30.5"])),
            ("turnover_limit", self._decimal(1, 9, 2)),
            ("silver_limit_g_per_l", self._decimal(1, 6, 2)),
            ("refill_cost", self._decimal(1, 60, 2)),
        ):
            if random.random() < 0.6:
                bath[key] = text
        if random.random() < 0.6:
            bath["silver_g_per_m2"] = self._decimal(0.3, 1.8, 3)
        return bath

    def _processor(self, code: str, process: str) -> dict[str, Any]:
        dosings = self.random.sample(DOSINGS, self.random.randint(1, 3))
        if code == "P0":
            dosings = ["machine", "hand", "batch"]
        return {
            "code": code,
            "name": f"Machine {code}",
            "process": process,
            "feed_width_mm": self.random.choice([305, 406, 508]),
            "booths_at_once": self.random.randint(1, 2),
            "baths": [self._bath(f"b{n}", dosing) for n, dosing in enumerate(dosings)],
        }

    def _size(self, number: int) -> dict[str, Any]:
        narrow, long = self.random.randint(40, 305), self.random.randint(100, 620)
        sides = (305, long) if number == 0 else (narrow, long)  # the first is just as wide as the narrowest feed
        width, length = sides if self.random.random() < 0.5 else sides[::-1]
        return {"code": f"z{number}", "name": f"size {number}", "width_mm": width, "length_mm": length}

    def _bookings(self) -> list[dict[str, Any]]:
        """Stays that overlap on no station, set-up and clear-up included, and leave every process its places."""
        places = dict.fromkeys(self.processes, 0)
        for processor in self.processors:
            places[processor["process"]] += processor["booths_at_once"]
        out: list[dict[str, Any]] = []
        for number in range(80):
            station, process = self.random.choice(self.stations), self.random.choice([*self.processes, ""])
            start = self._moment()
            end = start + timedelta(minutes=self.random.choice([30, 60, 150, 240]))
            made = start - timedelta(hours=self.random.randint(1, 200))
            cancelled = self.random.random() < 0.1
            row = {"station": station, "process": process, "start": start, "end": end, "made_at": made}
            row |= {"cancelled_at": made + timedelta(minutes=5) if cancelled else None, "arrived_at": None}
            if not cancelled and self.random.random() < 0.8:
                row["arrived_at"] = start + timedelta(minutes=3)
            standing = [other for other in out if other["cancelled_at"] is None]
            apart = timedelta(minutes=self.set_up[station] + self.clear_up[station])
            same = [other for other in standing if other["station"] == station]
            clash = any(start < other["end"] + apart and other["start"] < end + apart for other in same)
            at_work = [other for other in standing if process and other["process"] == process]
            starts = [start, *(other["start"] for other in at_work if start <= other["start"] < end)]
            busiest = max(sum(other["start"] <= at < other["end"] for other in at_work) for at in starts)
            if cancelled or not (clash or (process and busiest >= places[process])):
                out.append({"reference": f"R{number}", "member": self.random.choice(self.members), **row})
        return out

    def _feed(self) -> list[dict[str, Any]]:
        processor, size = self.random.choice(self.processors), self.random.choice(self.sizes)
        row = {"fed_at": self._moment(), "processor": processor["code"], "member": "", "booking": ""}
        row |= {
            "sheet": size["code"],
            "sheets": self.random.choice([1, 1, 2, 3, 12]),
            "kind": self.random.choice(KINDS),
        }
        booking = self.random.choice(self.bookings)
        if booking["process"] == processor["process"] and not booking["cancelled_at"] and self.random.random() < 0.7:
            row |= {"member": booking["member"], "booking": booking["reference"], "fed_at": booking["start"]}
        elif self.random.random() < 0.3:
            row["member"] = self.random.choice(self.members)
        return [row] * self.random.choice([1, 1, 1, 2])

    def _events(self) -> list[dict[str, Any]]:
        out = []
        for processor in self.processors:
            for bath in processor["baths"]:
                of = {"processor": processor["code"], "bath": bath["code"], "ml": "", "note": ""}
                moments = {self._moment() for _ in range(self.random.randint(0, 3))}
                out += [{**of, "at": at, "event": "refill"} for at in moments]
                for _ in range(self.random.randint(0, 8)):
                    out.append({**of, "at": self._moment(), **self._deed(bath)})
        return out

    def _deed(self, bath: dict[str, Any]) -> dict[str, str]:
        random = self.random
        event = random.choice(
            ["given", "given", "water", "working solution", "lost", "partial dump", "strip", "condemned", "note"]
        )
        if event == "strip":
            return {
                "event": event,
                "note": random.choice([f"read {self._decimal(0, 5, 2)} g/L", "grey", "1.1 g/L, 2.2 g/L"]),
            }
        if event in ("condemned", "note"):
            return {"event": event if random.random() < 0.3 else "note", "note": "“seen”,\nby two of us"}
        share = {"given": 0.2, "partial dump": 0.6}.get(event, 0.1)
        return {"event": event, "ml": self._decimal(1, float(bath["volume_ml"]) * share, random.randint(0, 3))}

    def toml(self) -> str:
        lines = ["[studio]", 'name = "Drawn studio"', f"time_zone = {json.dumps(self.random.choice(ZONES))}"]
        lines += [f"currency = {json.dumps(self.random.choice(CURRENCIES))}", '[opening]\nsaturday = ["20:00-03:00"]']
        for code in self.processes:
            lines += ["[[processes]]", f'code = "{code}"\nname = "{code}"\npaper = "{code}"\nlight = "white"']
        for processor in self.processors:
            lines += ["[[processors]]", *_pairs(processor)]
            for bath in processor["baths"]:
                lines += ["[[processors.baths]]", *_pairs(bath)]
        for station in self.stations:
            pairs = {"code": station, "name": station, "kind": "booth", "processes": self.processes}
            pairs |= {"clear_up_minutes": self.clear_up[station], "set_up_minutes": self.set_up[station]}
            lines += ["[[stations]]", *_pairs(pairs)]
        for size in self.sizes:
            lines += ["[[sheet_sizes]]", *_pairs(size)]
        return "\n".join(lines) + "\n"

    def write(self, folder: Path) -> None:
        """Write all six files, the rows shuffled and the columns in another order."""
        (folder / "studio.toml").write_text(self.toml(), encoding="utf-8")
        people = [
            {"number": m, "name": f"Ünal {m}", "email": f"{m}@example.org", "joined_on": "2025-12-31"}
            for m in self.members
        ]
        strips = [
            {"read_at": self.start, "processor": "P0", "patch": "LD", "channel": c, "aim": "0.8", "reading": "0.7999"}
            for c in "RGB"
        ]
        self._table(folder / "members.csv", people)
        self._table(folder / "bookings.csv", self.bookings)
        self._table(folder / "feeds.csv", self.feeds)
        self._table(folder / "bath_events.csv", self.events)
        self._table(folder / "strips.csv", strips)

    def _table(self, path: Path, rows: list[dict[str, Any]]) -> None:
        names = list(rows[0]) if rows else ["at", "processor", "bath", "event", "ml", "note"]
        self.random.shuffle(names)
        shuffled = list(rows)
        self.random.shuffle(shuffled)
        text = io.StringIO()
        writer = csv.DictWriter(text, names, lineterminator=self.random.choice(["\n", "\r\n"]))
        writer.writeheader()
        for row in shuffled:
            writer.writerow({n: iso(v, self.random) if isinstance(v, datetime) else v or "" for n, v in row.items()})
        path.write_bytes(text.getvalue().encode(self.random.choice(["utf-8", "utf-8-sig"])))


def _pairs(table: dict[str, Any]) -> list[str]:
    """Keys and values; decimals once bare and once in quotation marks."""
    return [
        f"{key} = {json.dumps(value, ensure_ascii=False)}"
        for key, value in table.items()
        if not (isinstance(value, list) and value and isinstance(value[0], dict))
    ]
