"""``python -m tests.planning.walk_forward FOLDER``: what would have been foretold each Monday, against what came.

The folder holds a studio in the import formats (docs/formats.md).  It is loaded into a scratch database; each Monday
at 06:00 the baths are foretold as ``manage.py forecast --at`` does it.  What came is read from the files alone
(``truth``).  A passage that lies behind the last line of the files is censored: all that is known is "not yet".
"""

from __future__ import annotations

import argparse
import statistics
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from tests.bench.scratch import OSTERMILL, studio_from

from .truth import Truth

FROM_WEEK = 4
SPANS = (7, 14, 28)
PASSED, CENSORED, AGE = "passed already", "censored", "age"


@dataclass(frozen=True)
class Row:
    """One forecast of one bath.  ``came``: ``PASSED``, ``CENSORED``, ``AGE`` or the limit that use met first."""

    day: date
    processor: str
    bath: str
    p10: date | None
    p50: date | None
    p90: date | None
    came: str
    on: date | None
    last: date
    pit: float | None = None  # halfway between the chances before and at the day that came
    area_pits: Sequence[tuple[int, float]] = ()  # days ahead → P(area ≤ what then went through)

    @property
    def observed(self) -> bool:
        return self.on is not None

    @property
    def inside(self) -> bool | None:
        """In the range "4 times in 5"; of a censored one only known if the range is over."""
        if self.on is not None:
            return self.p10 is not None and self.p10 <= self.on and (self.p90 is None or self.on <= self.p90)
        return False if self.came == CENSORED and self.p90 is not None and self.p90 < self.last else None

    @property
    def off(self) -> int | None:
        """Days by which the middle was early (+) or late (−)."""
        return None if self.on is None or self.p50 is None else (self.on - self.p50).days


def mondays(truth: Truth, from_week: int) -> list[datetime]:
    """Mondays 06:00 of the studio's time, from that week of the files on (their first week is 1)."""
    first = truth.day(truth.first)
    monday = first - timedelta(days=first.weekday()) + timedelta(weeks=from_week - 1)
    out = []
    while (at := datetime.combine(monday, time(6), truth.zone)) < truth.last:
        out.append(at)
        monday += timedelta(weeks=1)
    return out


def walked(truth: Truth, from_week: int = FROM_WEEK) -> list[Row]:
    """All rows, from the studio in the present database."""
    from studiodesk.planning.queries import foretell

    return [row_of(truth, told, at) for at in mondays(truth, from_week) for told in foretell(at, live=False)]


def row_of(truth: Truth, told: Any, at: datetime) -> Row:
    key, passage, course = (told.of.processor, told.of.bath), told.passage, told.course
    last = truth.day(truth.last)
    common = (truth.day(at), *key, passage.p10, passage.p50, passage.p90)
    area_pits = _area_pits(truth, course, key[0], at, last)
    if truth.passed(key, at):
        return Row(*common, PASSED, None, last, area_pits=area_pits)
    came = truth.came(key, at)
    if came.at is None:
        return Row(*common, CENSORED, None, last, area_pits=area_pits)
    on = truth.day(came.at)
    number = (on - passage.first_day).days
    pit = None
    if number < len(passage.reached):
        before = passage.reached[number - 1] if number else 0.0
        pit = (before + passage.reached[number]) / 2
    return Row(*common, came.limit or "", on, last, pit, area_pits)


def _area_pits(truth: Truth, course: Any, processor: str, at: datetime, last: date) -> list[tuple[int, float]]:
    from scipy.stats import gamma

    out = []
    for span in SPANS:
        day = truth.day(at) + timedelta(days=span)
        mean, variance = course.mean[span], course.variance[span]
        if day < last and mean > 0 and truth.through[processor]:  # what nobody ever used says nothing
            area = truth.area_until(processor, at, day)
            out.append((span, float(gamma.cdf(area, mean**2 / variance, scale=variance / mean))))
    return out


def table(rows: Iterable[Row]) -> list[str]:
    lines = [
        f"{'made on':<12}{'bath':<14}{'p10':<12}{'p50':<12}{'p90':<12}{'came':<12}{'by':<16}{'inside':<8}{'off':>4}"
    ]
    for row in rows:
        inside = {True: "yes", False: "no", None: ""}[row.inside]
        days = [str(day) if day else "beyond" for day in (row.p10, row.p50, row.p90)]
        on = str(row.on) if row.on else ""
        lines.append(
            f"{row.day!s:<12}{row.processor + ' ' + row.bath:<14}{days[0]:<12}{days[1]:<12}{days[2]:<12}"
            f"{on:<12}{row.came:<16}{inside:<8}{'' if row.off is None else f'{row.off:+d}':>4}"
        )
    return lines


def totals(rows: Sequence[Row]) -> list[str]:
    observed = [row for row in rows if row.observed]
    use, age = [row for row in observed if row.came != AGE], [row for row in observed if row.came == AGE]
    censored = [row for row in rows if row.came == CENSORED]
    too_early = [row for row in censored if row.inside is False]
    passages = {(row.processor, row.bath, row.on) for row in use}
    lines = [
        f"{len(rows)} forecasts: {len(use)} observed by use ({len(passages)} different days), {len(age)} by age, "
        f"{len(censored)} censored, {sum(row.came == PASSED for row in rows)} of what had passed already",
    ]
    for name, some in (("by use", use), ("by age", age), ("all observed", observed)):
        if some:
            inside = sum(bool(row.inside) for row in some)
            off = [abs(row.off) for row in some if row.off is not None]
            pits = [row.pit for row in some if row.pit is not None]
            error = f"{statistics.median(off):.1f} days" if off else "none"
            pit = f"{statistics.mean(pits):.3f}" if pits else "none"
            lines.append(
                f"  {name:<14}inside 80 %: {inside} of {len(some)} ({inside / len(some):.0%})   "
                f"median absolute error: {error}   mean PIT: {pit}"
            )
    lines.append(f"  of the censored {len(too_early)} were said to be over by then (outside, 9 times in 10)")
    return lines + _areas(rows)


def _areas(rows: Sequence[Row]) -> list[str]:
    """What went through, which no refill censors: a processor's figure once, not once a bath."""
    lines = []
    for span in SPANS:
        pits = {(row.day, row.processor): dict(row.area_pits).get(span) for row in rows}
        known = [pit for pit in pits.values() if pit is not None]
        if known:
            inside = sum(0.1 <= pit <= 0.9 for pit in known)
            lines.append(
                f"  area in {span:>2} days  inside 80 %: {inside} of {len(known)} ({inside / len(known):.0%})   "
                f"mean PIT: {statistics.mean(known):.3f}"
            )
    return lines


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.planning.walk_forward", description=__doc__)
    parser.add_argument("folder", type=Path, nargs="?", default=OSTERMILL)
    parser.add_argument("--from-week", type=int, default=FROM_WEEK, help="first week with a forecast (4)")
    parser.add_argument("--totals", action="store_true", help="leave the table out")
    given = parser.parse_args(arguments)
    truth = Truth(given.folder)
    if truth.first is truth.last:
        print("Nothing went through in these files.")
        return 0
    with studio_from(given.folder):
        rows = walked(truth, given.from_week)
    print("\n".join([*([] if given.totals else table(rows)), *totals(rows)]))
    return 0


if __name__ == "__main__":
    sys.exit(main())
