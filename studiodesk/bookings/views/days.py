"""The day: the whole house in wedges, and one kind of station in lines."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from studiodesk.people.access import member_page
from studiodesk.stations import queries as stations
from studiodesk.timekeeping import studio_day

from .. import queries
from ..forms import FURTHEST, GoToForm
from ..queries.touching import grid_of
from ..rules.needs import Need
from .dates import day_links, linked, query, slugs, studio_of
from .waiting import wait_url


def _near(on: date, today: date) -> date:
    """A day within some years of today; further ones are no address."""
    if abs(on - today) > FURTHEST:
        raise Http404
    return on


@member_page
@require_safe
def day(request: HttpRequest, on: date | None = None) -> HttpResponse:
    studio, now = studio_of(request), timezone.now()
    today = studio_day(now, stations.zone(studio))
    go_to = GoToForm(request.GET if "on" in request.GET else None, initial={"on": on or today}, today=today)
    if go_to.is_bound and go_to.is_valid():
        return redirect("day", on=go_to.cleaned_data["on"])
    at = _near(on or today, today)
    seen = queries.day_view(at, request.user, studio)
    kind_of = slugs([wedge.kind for wedge in seen.wedges])
    wedges = []
    for wedge in seen.wedges:
        url = reverse("kind_day", args=[at, kind_of[wedge.kind]])
        steps = tuple(replace(step, url=url if step.ends > now or at < today else None) for step in wedge.steps)
        wedges.append(replace(wedge, steps=steps, url=url))
    lifted = "past" in request.GET or at != today
    context = {
        "day": at,
        "today": today,
        "seen": seen,
        "wedges": wedges,
        "now": now if at == today and not lifted else None,
        "has_card": at == today and seen.drawn is not None and seen.drawn.starts < now,
        "lifted": lifted,
        "days": day_links(at),
        "go_to": go_to,
        "as_table": request.GET.get("view") == "table",
        "table_url": query(view="table", past=request.GET.get("past")),
    }
    return render(request, "bookings/day.html", context)


def _wait_for(kind: str, at: date, today: date, seen: queries.KindDay) -> str | None:
    """On a day that is full one can ask to be told; where something is free, that is booked instead."""
    free = any(stretch.what == "free" for line in seen.lines for stretch in line.stretches)
    if at < today or free or not seen.opened:
        return None
    return wait_url(Need(kind=kind, first_day=at, last_day=at))


@member_page
@require_safe
def kind_day(request: HttpRequest, on: date, slug: str) -> HttpResponse:
    studio, now = studio_of(request), timezone.now()
    zone = stations.zone(studio)
    today = studio_day(now, zone)
    at = _near(on, today)
    kind = next((kind for kind, word in slugs(stations.kinds()).items() if word == slug), None)
    if kind is None:
        raise Http404
    lifted = "past" in request.GET or at != today
    seen = queries.kind_day(at, kind, request.user, studio, now, past_shown=lifted)
    grid = grid_of(studio, request.user)
    by_code = {station.code: station for station in seen.stations}
    lines = [linked(line, by_code[line.code], grid, zone) for line in seen.lines]
    processor_lines = [linked(line, None, grid, zone) for line in seen.processor_lines]
    context = {
        "day": at,
        "kind": kind,
        "seen": seen,
        "lines": lines,
        "processor_lines": processor_lines,
        "all_lines": [*lines, *processor_lines],
        "has_card": at == today and seen.drawn is not None and seen.drawn.starts < now,
        "lifted": lifted,
        "now": now if at == today else None,
        "days": day_links(at, "kind_day", slug),
        "wait_url": _wait_for(kind, at, today, seen),
        "as_table": request.GET.get("view") == "table",
        "table_url": query(view="table", past=request.GET.get("past")),
    }
    return render(request, "bookings/kind_day.html", context)
