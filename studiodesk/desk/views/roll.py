"""Who is in the house, and the day's sheet for the door."""

from __future__ import annotations

from datetime import date, timedelta

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from studiodesk.bookings import queries as bookings
from studiodesk.people.access import house_page, member_page

from .. import queries


@member_page
@never_cache
@require_safe
def roll(request: HttpRequest) -> HttpResponse:
    """Staff, and a keyholder while on shift; a sentence for everybody else."""
    now = timezone.now()
    if not queries.may_call_the_roll(request.user, now):
        return render(request, "desk/roll_closed.html", status=403)
    return render(request, "desk/roll.html", {"house": bookings.in_house(now, request.studio), "now": now})


@house_page
@never_cache
@require_safe
def door_sheet(request: HttpRequest, on: date | None = None) -> HttpResponse:
    now = timezone.now()
    today = timezone.localdate(now)
    day = on or today
    if abs(day - today) > timedelta(days=366 * 10):
        raise Http404
    context = {
        "day": day,
        "lines": queries.door_sheet(day, request.studio),
        "groups": queries.groups_on(day, request.studio),
        "contacts": queries.may_call_the_roll(request.user, now),
        "now": now,
        "before": day - timedelta(days=1),
        "after": day + timedelta(days=1),
    }
    return render(request, "desk/door_sheet.html", context)
