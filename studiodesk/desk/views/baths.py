"""The board of all baths, and the page of one."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from studiodesk.chemistry import queries as chemistry
from studiodesk.chemistry.models import Bath, BathEntry
from studiodesk.chemistry.rules import entering
from studiodesk.chemistry.rules.seasoning import left_by_continuous_bleed
from studiodesk.chemistry.rules.standing import Standing, grams
from studiodesk.chemistry.views.board import book_url, book_urls
from studiodesk.chemistry.views.book import SLUGS, TITLES, offers, stands
from studiodesk.chemistry.views.common import sheet_count, studio_zone, today
from studiodesk.people.access import member_page
from studiodesk.timekeeping import Span

from .. import queries
from .bath_history import history_of

SHOWN = 30


@require_safe
@member_page
def board(request: HttpRequest) -> HttpResponse:
    """How every bath stands and what is foretold of it, the nearest to its end first."""
    now, zone = timezone.now(), studio_zone()
    rows = {row.pk: row for row in chemistry.baths()}
    lines = chemistry.standings(now, of=rows.values(), zone=zone)
    found = queries.ahead(lines, now, zone)
    lines = queries.worst_first(lines, found.baths)
    coming = (one for one in queries.soonest(found.baths.values()) if not one.spent)
    days = chemistry.working_days({row.processor_id for row in rows.values()}, now, zone)
    asked = queries.next_asked(queries.asked_of(found.baths.values(), queries.bath_changes_ahead(now)), now)
    context = {
        "lines": [
            {
                "line": line,
                "ahead": None if line.is_empty else found.baths.get(line.of.pk or 0),
                "asked": asked.get(line.of.pk or 0),
                "is_new": line.of.pk in found.new and not line.is_empty,
                "day": days.get(rows[line.of.pk or 0].processor_id),
                "book": book_urls(line),
            }
            for line in lines
        ],
        "spent": [line for line in lines if line.used >= 1 and not line.is_empty],
        "empty": [line for line in lines if line.is_empty],
        "next": next((one for one in coming if not one.line.is_empty), None),
        "now": now,
        "table": request.GET.get("view") == "table",
    }
    return render(request, "desk/board.html", context)


@require_safe
@member_page
def bath(request: HttpRequest, processor: str, code: str) -> HttpResponse:
    """``?days=7``, ``28``, ``90`` or ``tank``: what became of it; ``?view=table``: the same as a table."""
    row, line = stands(processor, code)
    now, zone = timezone.now(), studio_zone()
    day = today(now)
    found = queries.ahead([line], now, zone)
    runs = request.user.may_run_the_house
    open_now = chemistry.open_alerts(now, bath=row) if runs else None
    context = {
        "bath": row,
        "line": line,
        "ahead": None if line.is_empty else found.baths.get(row.pk),
        "is_new": row.pk in found.new and not line.is_empty,
        "usual": _sheets_of_room(row, line),
        "first_mix_left": None if line.turnovers is None else left_by_continuous_bleed(line.turnovers),
        "main_act": "change" if line.used >= 1 or line.is_empty else "replenishment" if line.replenishment_due else "",
        "offers": offers(line) if runs else {},
        "entries": [_entry_line(one, day) for one in chemistry.entries_of(row)[:SHOWN]],
        "fills": [
            {"fill": one, "url": book_url(processor, code, "any", one.began_at, one.ended_at)}
            for one in chemistry.earlier_fills(row)[:6]
        ],
        "book": book_urls(line),
        "all_written": book_url(processor, code, "any"),
        "day": chemistry.working_days([row.processor_id], now, zone).get(row.processor_id),
        "alerts": chemistry.alert_lines(open_now.now, now) if open_now else [],
        "now": now,
        **history_of(request, row, line, now, zone),
    }
    return render(request, "desk/bath.html", context)


def _entry_line(entry: BathEntry, day: Span) -> dict[str, Any]:
    """An entry with its words, and whether it still holds and may be taken back."""
    by = getattr(entry, "corrected_by", None)
    recorded_today = day.starts <= entry.recorded_at < day.ends
    refusal = entering.may_take_back(
        already_corrected=by is not None,
        is_a_correction=entry.corrects_id is not None,
        from_a_file=entry.file_key is not None,
        recorded_today=recorded_today,
    )
    return {
        "entry": entry,
        "title": TITLES.get(entry.event, entry.get_event_display()),
        "silver_g_per_l": grams(entry.silver_ug_per_l),
        "gone": by,
        "gone_today": by is not None and day.starts <= by.recorded_at < day.ends,
        "taken_back": by is not None and by.event == entering.NOTE,
        "may_undo": refusal is None,
        "may_correct": entry.event in SLUGS,
    }


def _sheets_of_room(row: Bath, line: Standing) -> str:
    """The room that the capacity leaves, in whole sheets of the usual size: "12 sheets of 8×10 in"."""
    size = chemistry.usual_size(row.processor) if line.room_mm2 else None
    return sheet_count(line.room_mm2 // size.area_mm2, size.label) if size and line.room_mm2 else ""
