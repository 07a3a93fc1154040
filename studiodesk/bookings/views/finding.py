"""What do you want to make?  The answers → at most ten good times, each one tap away from being booked."""

from __future__ import annotations

from datetime import date, datetime
from itertools import groupby
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from studiodesk.people.access import member_page
from studiodesk.stations import queries as stations
from studiodesk.timekeeping import Span, studio_day
from studiodesk.words import say

from .. import actions, queries
from ..forms import NeedForm, asked_of, kit_name, need_fields, query_of, usual_length
from ..queries.touching import grid_of
from ..words.needs import point_words, reason_words
from .dates import slugs, studio_of
from .usual import usual_link, words_of
from .waiting import wait_url

#: So many stations that nearly fit are named.
NEARLY = 5


def need_form(request: HttpRequest, house: queries.HouseMap, data: QueryDict | None, now: datetime) -> NeedForm:
    """The questions as this house asks them."""
    studio = studio_of(request)
    grid, today = grid_of(studio, request.user), studio_day(now, stations.zone(studio))
    return NeedForm(
        data,
        initial={"day": today, "length": usual_length(grid)},
        stations=house.stations,
        processes=house.processes,
        kinds=house.bare_kinds,
        kit=house.kit,
        grid=grid,
        today=today,
    )


def offer(found: queries.Found, zone: ZoneInfo) -> dict[str, Any]:
    """One offer as the page shows it: the fields of the button that books it, or the address that leads there."""
    span = Span(found.starts, found.ends)
    fields = query_of(found.station, found.process, span, zone)
    fields |= {kit_name(item): str(pieces) for item, pieces in found.kit}
    beside = None
    if found.beside is not None:
        fields["friend"] = found.beside.code
        beside = {"name": found.beside.name, "url": _book(query_of(found.beside, found.process, span, zone))}
    return {
        "found": found,
        "fields": fields,
        "url": _book(fields),
        "reasons": reason_words(found.reasons),
        "processor": found.processor.name if found.processor else "",
        "beside": beside,
        "said": say(found.refusal) if found.refusal else None,
        "note": queries.note_of(found.station),
    }


def _book(fields: dict[str, str]) -> str:
    return f"{reverse('book')}?{urlencode(fields)}"


def in_common(days: list[dict[str, Any]]) -> tuple[list[str], str]:
    """What every one of several offers says, taken out of them to be said once: reasons, and the processor's name."""
    offers = [one for day in days for one in day["offers"]]
    if len(offers) < 2:
        return [], ""
    shared = [why for why in offers[0]["reasons"] if all(why in one["reasons"] for one in offers)]
    processors = {one["found"].processor.name if one["found"].processor else "" for one in offers}
    processor = processors.pop() if len(processors) == 1 else ""
    for one in offers:
        one["reasons"] = [why for why in one["reasons"] if why not in shared]
        one["processor"] = "" if processor else one["processor"]
    return shared, processor


def by_day(found: list[queries.Found], house: queries.HouseMap, zone: ZoneInfo) -> list[dict[str, Any]]:
    """The offers day by day, each day with the address of its strips."""
    slug = slugs(list(dict.fromkeys(station.kind for station in house.stations)))

    def day_of(one: queries.Found) -> date:
        return studio_day(one.starts, zone)

    days = []
    for day, many in groupby(found, key=day_of):
        rows = list(many)
        strip = reverse("kind_day", args=[day, slug[rows[0].station.kind]])
        offers = [{**offer(one, zone), "is_first": one is found[0]} for one in rows]
        days.append({"starts": rows[0].starts, "url": strip, "offers": offers})
    return days


@member_page
@require_safe
def find(request: HttpRequest) -> HttpResponse:
    studio, now = studio_of(request), timezone.now()
    zone = stations.zone(studio)
    house = queries.house_map(request.user)
    data = asked_of(request.GET, house.bare_kinds)
    asked = "make" in data
    form = need_form(request, house, data if asked else None, now)
    context: dict[str, Any] = {"form": form, "asked": asked, "days": None, "today": studio_day(now, zone)}
    if not asked:
        usual = queries.usual_need(request.user)
        context["usual"] = usual_link(usual, house, context["today"]) if usual else None
        return render(request, "bookings/find.html", context)
    if not form.is_valid():
        return render(request, "bookings/find.html", context, status=422)
    need = form.need
    found = queries.search(need, studio=studio, house=house, member=request.user, now=now, by=request.user)
    days = by_day(found, house, zone)
    shared, processor = in_common(days)
    context |= {
        "need": need,
        "shared": shared,
        "processor": processor,
        "words": words_of(need, house),
        "found": found,
        "days": days,
        "refused": bool(found) and all(one.refusal for one in found),
        "fields": _flat(need_fields(need, house.kit)),
        "wait_url": wait_url(need, days=queries.SEARCHED_DAYS),
    }
    if not found and not house.made_for(need):
        nearly = house.lacking(need)[:NEARLY]
        context["nearly"] = [{"station": one, "points": point_words(points)} for one, points in nearly]
        context["none_fits"] = True
    return render(request, "bookings/find.html", context)


def _flat(fields: dict[str, Any]) -> list[tuple[str, Any]]:
    """The fields one by one, those with several values several times."""
    return [(name, one) for name, value in fields.items() for one in (value if isinstance(value, list) else [value])]


@member_page
@require_POST
def usual(request: HttpRequest) -> HttpResponse:
    """Keep what was asked as one's usual, or forget what was kept."""
    now = timezone.now()
    if "forget" in request.POST:
        actions.forget_usual(now=now, by=request.user)
        messages.success(request, _("Forgotten."))
        return redirect("find")
    house = queries.house_map(request.user)
    form = need_form(request, house, request.POST, now)
    if not form.is_valid():
        context = {"form": form, "asked": True, "days": None}
        return render(request, "bookings/find.html", context, status=422)
    actions.keep_usual(need=form.need, now=now, by=request.user)
    messages.success(request, _("Kept as your usual. The first page leads to it."))
    return redirect(f"{reverse('find')}?{urlencode(need_fields(form.need, house.kit), doseq=True)}")
