"""Everything as tables for a spreadsheet."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, StreamingHttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from studiodesk.people.access import staff_page
from studiodesk.timekeeping import studio_day

from .. import queries
from ..forms import TablesForm
from ..rules import csv_cells
from .common import studio_zone


@require_safe
@staff_page
def csv_tables(request: HttpRequest) -> HttpResponse:
    """Which tables there are, and for which days they are wanted."""
    form = TablesForm(request.GET)
    wrong = not form.is_valid()
    context = {
        "tables": [(what, table.name, bool(table.at)) for what, table in queries.TABLES.items()],
        "form": form,
        "wrong": form if wrong else None,
        "query": form.query,
    }
    return render(request, "chemistry/board_tables.html", context, status=422 if wrong else 200)


@require_safe
@never_cache
@staff_page
def csv_table(request: HttpRequest, what: str) -> HttpResponseBase:
    """One table, row by row as the database gives them: however long it is, nothing of it is kept."""
    if what not in queries.TABLES:
        raise Http404
    form = TablesForm(request.GET)
    if not form.is_valid():
        return csv_tables(request)
    zone = studio_zone()  # the rows are written when this request's own zone is over
    starts, ends = form.stretch(zone)
    rows = queries.table_rows(what, starts, ends)
    answer = StreamingHttpResponse(csv_cells.lines(rows, zone), content_type="text/csv; charset=utf-8")
    name = f"{what}-{studio_day(timezone.now(), zone).isoformat()}.csv"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    answer["X-Content-Type-Options"] = "nosniff"
    return answer
