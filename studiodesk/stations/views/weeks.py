"""The shifts of four weeks."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from studiodesk.people.access import shift_page
from studiodesk.timekeeping import Span, day_span, studio_day

from .. import queries
from .lines import line

SHOWN = timedelta(weeks=4)
#: Farther than this no link leads, and a typed day is not followed.
REACH = timedelta(days=1500)


def day_asked(text: str, today: date) -> date:
    """The day that ``?from=`` names, or today for anything else."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return today
    return day if abs(day - today) <= REACH else today


@shift_page
@require_safe
def shifts(request: HttpRequest) -> HttpResponse:
    """``?from=2026-11-30``: four weeks from that day."""
    now, zone = timezone.now(), queries.zone(request.studio)
    today = studio_day(now, zone)
    first = day_asked(request.GET.get("from", ""), today)
    monday = first - timedelta(days=first.weekday())
    span = Span(day_span(first, zone).starts, day_span(monday + SHOWN, zone).starts)
    rows = list(queries.shifts(span))
    swaps = queries.open_swaps(rows)
    mine = {one.pk: Span(one.starts, one.ends) for one in rows if one.person_id == request.user.pk}
    weeks: dict[date, list[Any]] = {}
    for row in rows:
        day = max(studio_day(row.starts, zone), first)
        theirs = [span for pk, span in mine.items() if pk != row.pk]
        weeks.setdefault(day - timedelta(days=day.weekday()), []).append(
            line(row, swaps.get(row.pk), request.user, now, theirs)
        )
    note = queries.last_note()
    context = {
        "weeks": list(weeks.items()),
        "first": first,
        "is_now": first == today,
        "earlier": first - SHOWN,
        "later": monday + SHOWN,
        "note": note if note is not None and queries.may_read_note(request.user, note) else None,
        "here": "" if first == today else first.isoformat(),
    }
    return render(request, "stations/shifts.html", context)
