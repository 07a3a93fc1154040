"""The first page."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.dates import WEEKDAYS
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from studiodesk.bookings.views.usual import usual_button
from studiodesk.classes import queries as classes
from studiodesk.classes.words import STATE_WORDS
from studiodesk.dates import clock_of_minutes

from .. import queries

SHOWN = 3  # of what is on, on a stranger's first page


def week_words(week: list[tuple[int, list[tuple[int, int]]]]) -> list[tuple[str, str]]:
    """(weekday, "13:00 to 22:00, …") of every day, once there are hours at all."""
    said, of = _("%(opens)s to %(closes)s"), dict(week)
    return [
        (
            str(WEEKDAYS[day]),
            ", ".join(said % {"opens": clock_of_minutes(a), "closes": clock_of_minutes(b)} for a, b in sorted(spans))
            or _("closed"),
        )
        for day, spans in ((day, of.get(day, [])) for day in WEEKDAYS if of)
    ]


def house_today(request: HttpRequest) -> dict[str, Any]:
    """The overview of today, or of the next day on which the house is open."""
    if request.studio is None:
        return {}
    now = timezone.now()
    seen = queries.day_to_show(now, request.user if request.user.is_authenticated else None, request.studio)
    is_today = seen is not None and seen.day == timezone.localdate(now)
    return {"seen": seen, "now": now, "is_today": is_today, "as_table": request.GET.get("view") == "table"}


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """For a stranger what this place is; for a member what comes next."""
    if not request.user.is_authenticated:
        place = queries.the_place()
        context: dict[str, Any] = {"place": place, "week": week_words(place.week), **house_today(request)}
        soon = classes.public_ahead(timezone.now())[:SHOWN] if request.studio is not None else []
        context["on"] = [(course, classes.meetings_of(course)[0].stay) for course in soon]
        return render(request, "desk/stranger.html", context)
    now = timezone.now()
    first, may_call = queries.first_page(request.user, now), queries.may_call_the_roll(request.user, now)
    # A place that is theirs needs no words; in line, or kept for them, does.
    coming = [(one.meeting, "" if one.state in (None, "booked") else STATE_WORDS[one.state]) for one in first.classes]
    usual = usual_button(request.user, request.studio, now) if request.studio is not None else None
    context = {"first": first, "may_call": may_call, "usual": usual, "classes": coming, **house_today(request)}
    return render(request, "desk/home.html", context)
