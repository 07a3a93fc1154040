"""The sums of every bath, counted a second time straight from a studio's files.

Nothing of studiodesk is imported and none of its code was followed: only the files' contract (docs/formats.md) and
the sums as they are written down for people.  Liquid is counted in nL (mm² × mL/m² is exactly nL) and areas in mm²,
as fractions; silver in grams as floats, sheet by sheet and stroke by stroke.

``python -m tests.upkeep.recount FOLDER TIME`` prints what it counts.
"""

from __future__ import annotations

import csv
import json
import re
import sys
import tomllib
from collections import defaultdict
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from zoneinfo import ZoneInfo

NL_PER_ML = 1_000_000
EVENT_ORDER = ["partial dump", "lost", "working solution", "water", "given", "strip", "condemned", "note"]
EXACT = ["area_mm2", "since", "strokes_due", "word", "limit", "dosing", "process"]
TO_THE_PL = ["due_nl", "given_nl", "outstanding_nl", "remainder_nl"]
MEASURED = ["turnovers", "capacity_used", "age_days", "silver_g_per_l", "used"]


def moment(text):
    at = datetime.fromisoformat(text)
    assert at.tzinfo is not None, text
    return at.astimezone(UTC)


def rows(folder, name):
    path = Path(folder) / name
    if not path.exists():
        return []
    with path.open(encoding="utf-8-sig", newline="") as file:
        return [{key.strip(): value.strip() for key, value in row.items()} for row in csv.DictReader(file)]


def figure(table, key, scale=1):
    """A figure as written, rounded once to a whole smallest unit (``scale`` of them to the written one)."""
    if key not in table:
        return None
    return Fraction(round(Fraction(str(table[key])) * scale), scale)


class Tank:
    """One bath between a refill and the moment asked for."""

    def __init__(self, bath, since, zone):
        self.volume = figure(bath, "volume_ml", 10**9) * NL_PER_ML
        self.dosing = bath["dosing"]
        self.doses = self.dosing in ("machine", "hand")
        self.rate = figure(bath, "replenish_ml_per_m2", 1000) if self.doses else None
        unit = figure(bath, "stroke_ml" if self.dosing == "machine" else "measure_ml", 10**9)
        self.unit = (Fraction(50) if unit is None and self.dosing == "hand" else unit or 0) * NL_PER_ML
        percent = Fraction(str(bath.get("idle_percent_per_day", 0)))
        per_day = Fraction(str(bath["volume_ml"])) * percent / 100
        self.idle_a_day = Fraction(round(per_day * 10**9), 10**9) * NL_PER_ML if self.doses else 0
        self.silver_per_m2 = figure(bath, "silver_g_per_m2", 10**6)
        self.zone, self.since = zone, since
        self.last_work = since
        self.idle_counted = 0
        self.area = 0
        self.worn = Fraction(0)
        self.due = self.given = self.extra = self.working = self.short = Fraction(0)
        self.silver, self.was_measured, self.condemned = 0.0, False, False

    def overflow(self, poured):
        """What is poured in fills up what is missing first; the rest mixes and goes over the weir."""
        filling = min(self.short, poured)
        self.short -= filling
        self.silver *= float(self.volume / (self.volume + poured - filling))

    def pump(self):
        """Whole strokes, one after the other."""
        if self.dosing != "machine":
            return
        while self.due - self.given >= self.unit:
            self.given += self.unit
            self.overflow(self.unit)

    def wait(self, until):
        """Whole local days strictly between the last work and ``until`` ask their share."""
        if not self.idle_a_day or self.last_work is None:
            return
        first, last = (at.astimezone(self.zone).date() for at in (self.last_work, until))
        whole = sum(1 for n in range(1, (last - first).days) if first + timedelta(days=n) < last)
        self.due += self.idle_a_day * max(0, whole - self.idle_counted)
        self.idle_counted = max(self.idle_counted, whole)
        self.pump()

    def sheets(self, at, area, number):
        self.wait(at)
        if not area:
            return
        self.last_work, self.idle_counted = at, 0
        for _ in range(number):
            self.area += area
            self.worn += area
            self.silver += float((self.silver_per_m2 or 0) * area / 10**6)
            if self.rate is not None:
                self.due += area * self.rate
            self.pump()

    def event(self, at, what, ml, note):
        self.wait(at)
        nl = Fraction(ml or 0) * NL_PER_ML
        level = self.volume - self.short
        if what == "given":
            if self.dosing == "hand":
                self.given += nl
            else:
                self.extra += nl
            self.overflow(nl)
        elif what == "working solution":
            self.working += nl
            self.overflow(nl)
        elif what in ("lost", "partial dump"):
            self.silver -= self.silver * min(1.0, float(nl / level)) if level else self.silver
            if what == "lost":
                self.short = min(self.volume, self.short + nl)
            else:
                self.short = Fraction(0)
                self.worn *= max(Fraction(0), 1 - nl / self.volume)
        elif what == "strip":
            found = re.findall(r"([0-9]+(?:\.[0-9]+)?) g/L", note)
            if len(found) == 1:
                self.silver = float(Fraction(found[0]) * level / (1000 * NL_PER_ML))
                self.was_measured = True
        elif what == "condemned":
            self.condemned = True


def standing(bath, tank, at, process):
    tank.wait(at)
    litres = tank.volume / (1000 * NL_PER_ML)
    out = dict.fromkeys([*TO_THE_PL, *MEASURED, "strokes_due", "since", "limit"])
    out |= {"area_mm2": tank.area, "dosing": tank.dosing, "process": process}
    parts = {}
    if tank.condemned:
        parts["condemned"] = 1.0
    wears = bath["dosing"] not in ("one-shot", "running water")  # else there is no tank that stays
    if "capacity_m2_per_l" in bath and wears:
        can = figure(bath, "capacity_m2_per_l", 10**6) * (litres + tank.working / (1000 * NL_PER_ML))
        parts["capacity"] = out["capacity_used"] = float(tank.worn / 10**6 / can)
    if tank.doses:
        out["due_nl"], out["given_nl"] = tank.due, tank.given
        out["outstanding_nl"] = tank.due - tank.given
        out["strokes_due"] = max(0, out["outstanding_nl"] // tank.unit)
        out["remainder_nl"] = out["outstanding_nl"] - out["strokes_due"] * tank.unit
        out["turnovers"] = float((tank.given + tank.extra) / tank.volume)
        if "turnover_limit" in bath:
            parts["turnovers"] = out["turnovers"] / float(bath["turnover_limit"])
    if tank.since is not None:
        out["since"] = tank.since.isoformat().replace("+00:00", "Z")
        out["age_days"] = (at - tank.since) / timedelta(days=1)
        if "age_limit_days" in bath and wears:
            parts["age"] = out["age_days"] / float(figure(bath, "age_limit_days", 86400))
    if (tank.silver_per_m2 is not None and wears) or tank.was_measured:
        level = (tank.volume - tank.short) / (1000 * NL_PER_ML)
        out["silver_g_per_l"] = tank.silver / float(level) if level else 0.0
        if "silver_limit_g_per_l" in bath:
            parts["silver"] = out["silver_g_per_l"] / float(bath["silver_limit_g_per_l"])
    out["used"] = max(parts.values(), default=0.0)
    out["limit"] = max(parts, key=parts.get) if parts else None
    out["word"] = word(out, tank)
    return out


def word(out, tank):
    if out["used"] >= 0.8:
        return "spent" if out["used"] >= 1 else "tired"
    seasoned = out["turnovers"] is None or out["turnovers"] >= 3
    return "in use" if tank.area and seasoned else "new"


def recount(folder, at, feeds=None):
    """(processor, bath) → its sums at ``at``, its very instant included."""
    with (Path(folder) / "studio.toml").open("rb") as file:
        studio = tomllib.load(file, parse_float=str)
    zone = ZoneInfo(studio["studio"]["time_zone"])
    sizes = {size["code"]: int(size["width_mm"]) * int(size["length_mm"]) for size in studio["sheet_sizes"]}
    through = defaultdict(list)
    for row in feeds if feeds is not None else rows(folder, "feeds.csv"):
        area = 0 if row["kind"] == "cleaning" else sizes[row["sheet"]]
        who = (row["member"], row["booking"])
        key = (moment(row["fed_at"]), 1, row["sheet"], row["kind"], int(row["sheets"]), *who)
        through[row["processor"]].append((key, area, int(row["sheets"])))
    done, refills = defaultdict(list), defaultdict(list)
    for row in rows(folder, "bath_events.csv"):
        bath, when = (row["processor"], row["bath"]), moment(row["at"])
        if row["event"] == "refill":
            refills[bath].append(when)
        else:
            rank = EVENT_ORDER.index(row["event"])
            done[bath].append(((when, 0, rank, Fraction(row["ml"] or 0), row["note"]), row["event"]))
    out = {}
    for processor in studio["processors"]:
        for bath in processor.get("baths", []):
            key = (processor["code"], bath["code"])
            since = max((when for when in refills[key] if when <= at), default=None)
            tank = Tank(bath, since, zone)
            for when, *what in in_order(through[processor["code"]], done[key]):
                if when > at or (since is not None and when < since):
                    continue
                if what[0] is None:
                    tank.sheets(when, what[1], what[2])
                else:
                    tank.event(when, *what)
            out[key] = standing(bath, tank, at, processor["process"])
    return out


def in_order(through, done):
    """(when, None, area, sheets) and (when, event, ml, note): entries before sheets of the same instant."""
    both = [((key[0], 1, 0), key, (None, area, number)) for key, area, number in through]
    both += [((key[0], 0, key[2]), key, (event, key[3], key[4])) for key, event in done]
    both.sort(key=lambda one: (one[0], one[1][2:]))
    return [(order[0], *what) for order, _, what in both]


def differences(printed, early, late=None, silver=1e-9):
    """What a JSON list of baths has otherwise than the recount; with ``late`` a value between the two is right.

    ``printed``: the text that ``baths --json`` printed.  Amounts have to agree to the pL, areas to the mm², what is
    divided to 10⁻¹² and silver to ``silver`` of itself.
    """
    late = late or early
    found = []
    lines = {(line["processor"], line["bath"]): line for line in json.loads(printed, parse_float=Fraction)}
    if set(lines) != set(early):
        found.append(f"other baths: {sorted(lines)} for {sorted(early)}")
    for key in sorted(set(lines) & set(early)):
        line, one, two = lines[key], early[key], late[key]
        for name in EXACT:
            if line[name] not in (one[name], two[name]):
                found.append(f"{key} {name}: {line[name]} for {one[name]}")
        for name in (*TO_THE_PL, *MEASURED):
            given, least, most = line[name], one[name], two[name]
            if given is None or least is None:
                if given != least:
                    found.append(f"{key} {name}: {given} for {least}")
                continue
            close = (
                Fraction(1, 2000)
                if name in TO_THE_PL
                else abs(Fraction(least)) * Fraction(silver if name in ("silver_g_per_l", "used") else 1e-12)
            )
            low, high = sorted((Fraction(least), Fraction(most)))
            if not low - close <= Fraction(given) <= high + close:
                found.append(f"{key} {name}: {float(given)!r} for {float(least)!r}")
    return found


if __name__ == "__main__":
    for which, sums in recount(sys.argv[1], moment(sys.argv[2])).items():
        print(*which, {name: str(value) for name, value in sums.items()})
