"""The example's history moved by whole weeks of the studio's local time.

By days it would fall outside the opening hours, by weeks of UTC too (the clocks change in between): a booking at
17:15 on a Tuesday stays one at 17:15 on a Tuesday.
"""

from __future__ import annotations

import csv
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from studiodesk.timekeeping import studio_day, week_shifted

TIME_COLUMNS = {"start", "end", "made_at", "cancelled_at", "arrived_at", "fed_at", "at", "read_at"}


def latest_moment(folder: Path) -> datetime:
    """The last moment that any file of ``folder`` speaks of."""
    return max(
        datetime.fromisoformat(row[column])
        for path in sorted(folder.glob("*.csv"))
        for row in csv.DictReader(path.open(encoding="utf-8", newline=""))
        for column in TIME_COLUMNS & row.keys()
        if row[column]
    )


def weeks_to(now: datetime, last: datetime, zone: ZoneInfo) -> int:
    """How many whole weeks of local time bring ``last`` as near to ``now`` as it goes without passing it."""
    weeks = (studio_day(now, zone) - studio_day(last, zone)).days // 7
    return weeks if week_shifted(last, weeks, zone) <= now else weeks - 1


def shift(source: Path, target: Path, weeks: int, zone: ZoneInfo) -> None:
    """Copy every CSV of ``source`` into ``target`` with its times moved by ``weeks``."""
    for path in sorted(source.glob("*.csv")):
        with (
            path.open(encoding="utf-8", newline="") as old,
            (target / path.name).open("w", encoding="utf-8", newline="") as new,
        ):
            rows = csv.DictReader(old)
            out = csv.DictWriter(new, rows.fieldnames or [], lineterminator="\n")
            out.writeheader()
            for row in rows:
                for column in TIME_COLUMNS & row.keys():
                    if row[column]:
                        row[column] = week_shifted(datetime.fromisoformat(row[column]), weeks, zone).isoformat()
                out.writerow(row)
