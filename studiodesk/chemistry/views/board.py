"""The lines of a bath's book: what every figure was summed from."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from studiodesk.people.access import member_page

from .. import queries
from ..forms import KIND_WORDS, StretchForm
from ..models import Bath
from ..rules.standing import Standing, grams
from .book import TITLES


def book_url(processor: str, bath: str, kind: str, starts: datetime | None = None, ends: datetime | None = None) -> str:
    """The lines of a kind of a bath, by its codes, in ``[starts, ends)``."""
    asked = {"kind": kind}
    if starts is not None:
        asked["from"] = starts.astimezone(UTC).isoformat()
    if ends is not None:
        asked["until"] = ends.astimezone(UTC).isoformat()
    return f"{reverse('bath_book', args=[processor, bath])}?{urlencode(asked)}"


def book_urls(line: Standing) -> dict[str, str]:
    """Kind, with _ for -, → the lines of the tank that stands there now."""
    return {kind.replace("-", "_"): book_url(line.processor, line.bath, kind, line.since) for kind in KIND_WORDS}


@require_safe
@member_page
def bath_book(request: HttpRequest, processor: str, code: str) -> HttpResponse:
    """``?kind=``, ``from=``, ``until=``, ``page=``.  Names are for whoever runs the house."""
    try:
        bath = queries.access_bath(processor, code)
    except Bath.DoesNotExist as missing:
        raise Http404 from missing
    form = StretchForm(request.GET)
    wrong = not form.is_valid()
    kind, starts, ends = form.chosen
    found = queries.book(bath, kind, starts, ends, request.GET.get("page", "1"))
    kept = {name: request.GET[name] for name in ("kind", "from", "until") if request.GET.get(name)}
    context: dict[str, Any] = {
        "bath": bath,
        "form": form if wrong else StretchForm(initial={"kind": kind, "from": starts, "until": ends}),
        "wrong": form if wrong else None,
        "kind": kind,
        "kind_words": KIND_WORDS[kind],
        "starts": starts,
        "ends": ends,
        "found": found,
        "lines": [_said(one) for one in found.lines],
        "kept": urlencode(kept),
        "with_names": request.user.may_run_the_house,
        "now": timezone.now(),
    }
    return render(request, "chemistry/board_book.html", context, status=422 if wrong else 200)


def _said(line: queries.Line) -> dict[str, Any]:
    entry = line.entry
    return {
        "line": line,
        "title": TITLES.get(entry.event, entry.get_event_display()) if entry else "",
        "silver": grams(entry.silver_ug_per_l) if entry else None,
    }
