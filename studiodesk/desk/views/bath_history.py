"""What became of a bath: the part of its page that looks back."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.http import HttpRequest
from django.utils.translation import gettext_lazy

from studiodesk.chemistry import queries as chemistry
from studiodesk.chemistry.models import Bath
from studiodesk.chemistry.rules.board_history import Day
from studiodesk.chemistry.rules.standing import Standing, grams
from studiodesk.chemistry.views.board import book_url
from studiodesk.chemistry.views.book import TITLES
from studiodesk.timekeeping import day_span, studio_day

STRETCHES = {
    "7": gettext_lazy("7 days"),
    "28": gettext_lazy("28 days"),
    "90": gettext_lazy("90 days"),
    "tank": gettext_lazy("This tank"),
}


def history_of(request: HttpRequest, row: Bath, line: Standing, now: datetime, zone: ZoneInfo) -> dict[str, Any]:
    """What the template ``desk/bath_history.html`` is drawn from."""
    stretch, starts = chemistry.stretch_of(request.GET.get("days", ""), line.since, now, zone)
    seen = chemistry.bath_history(row, starts, now, zone)
    table = request.GET.get("view") == "table"
    return {
        "seen": seen,
        "zone": zone,
        "stretch": stretch,
        "stretches": [
            (word, label, word == stretch) for word, label in STRETCHES.items() if word != "tank" or line.since
        ],
        "table": table,
        "days": _days(row, seen, zone) if table else seen.of.days,
        "asks": seen.settings.replenished,
        "bears": bool(seen.of.strips) or any(one.silver_ug_per_l is not None for one in seen.of.samples),
    }


def _days(row: Bath, seen: chemistry.BathHistory, zone: ZoneInfo) -> list[dict[str, Any]]:
    """A line for each day on which anything was, the latest first, with its way to the entries of that day."""
    sums: dict[date, Day] = {day.day: day for day in seen.of.days}
    titles: dict[date, list[Any]] = defaultdict(list)
    read: dict[date, list[Any]] = defaultdict(list)
    for entry in seen.marks:
        titles[studio_day(entry.at, zone)].append(TITLES.get(entry.event, entry.get_event_display()))
    for one in seen.read:
        read[studio_day(one.at, zone)].append(one)
    found = []
    for day in sorted({*sums, *titles, *read}, reverse=True):
        span, mine = day_span(day, zone), sums.get(day, Day(day))
        found.append(
            {
                "day": day,
                "sums": mine,
                "silver": grams(mine.silver_ug_per_l),
                "strips": [grams(one) for one in mine.read_ug_per_l],
                "read": read[day],
                "titles": titles[day],
                "url": book_url(row.processor.code, row.code, "any", span.starts, span.ends),
            }
        )
    return found
