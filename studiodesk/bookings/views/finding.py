"""Find a time: kind of station, process, day, length → at most ten free times."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from studiodesk.people.access import member_page
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Studio
from studiodesk.timekeeping import Span, studio_day

from .. import queries
from ..forms import FindForm, usual_length
from ..queries.looking import grid_of
from .dates import book_url, studio_of


def _found(form: FindForm, studio: Studio, member: Member) -> list[dict[str, Any]]:
    process, zone = form.cleaned_data["process_row"], stations.zone(studio)
    free = queries.free_times(
        studio=studio,
        stations_wanted=form.cleaned_data["stations"],
        processors=stations.processors_of(process) if process else None,
        process=process,
        day=form.cleaned_data["day"],
        length=form.wished_length,
        after=form.cleaned_data["after"],
        now=timezone.now(),
        by=member,
    )
    return [
        {
            "free": one,
            "note": queries.note_of(one.station),
            "url": book_url(one.station, process, Span(one.starts, one.ends), zone),
        }
        for one in free
    ]


@member_page
@require_safe
def find(request: HttpRequest) -> HttpResponse:
    studio = studio_of(request)
    many = list(stations.stations())
    processes = list({process.pk: process for one in many for process in one.processes.all()}.values())
    today = studio_day(timezone.now(), stations.zone(studio))
    grid = grid_of(studio, request.user)
    asked = "kind" in request.GET
    first = next((one for one in many if one.processes.all()), None)
    initial = {
        "day": today,
        "length": usual_length(grid),
        "kind": first.kind if first else None,
        "process": first.processes.all()[0].code if first else "",
    }
    form = FindForm(
        request.GET if asked else None, initial=initial, stations=many, processes=processes, grid=grid, today=today
    )
    found = _found(form, studio, request.user) if asked and form.is_valid() else None
    context = {"form": form, "found": found, "asked": asked, "days": queries.SEARCHED_DAYS}
    return render(request, "bookings/find.html", context, status=200 if form.is_valid() or not asked else 422)
