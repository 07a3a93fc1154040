"""Making dates from an outline: what is kept, what stands in the way, and the nearest days that fit."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from studiodesk.answers import Refusal, Refused
from studiodesk.bookings.models import GroupStay, Hold
from studiodesk.bookings.queries import groups
from studiodesk.bookings.words.groups import clash_words
from studiodesk.people.access import tutor_page
from studiodesk.stations import queries as stations
from studiodesk.timekeeping import Span, studio_day
from studiodesk.words import say

from .. import actions, queries
from ..forms import DatesForm
from ..models import Outline
from ..rules import dates as rules
from .common import answered_once
from .room import Room, room_asked, room_chosen, room_context


def spans_of(outline: Outline, days: Sequence[date], begins: time, zone: ZoneInfo, now: datetime) -> list[Span]:
    """The spans of one run; raises ``Refused`` for days or a time that cannot be."""
    refusal = rules.days_refusal(days, studio_day(now, zone), outline.meetings)
    found = refusal or rules.spans(days, begins, timedelta(minutes=outline.length_minutes), zone)
    if isinstance(found, Refusal):
        raise Refused(found)
    if any(span.ends <= now for span in found):
        raise Refused(Refusal("bookings.group_in_the_past"))
    return found


def who_has(hold: Hold) -> str:
    """What a hold that stands in the way is kept for, for people who plan."""
    thing = hold.lane.resource.station.name if hold.lane.resource.sort == "station" else _("the processor")
    if hold.booking is not None:
        who = hold.booking.member.name
    elif hold.group is not None:
        who = hold.group.title
    else:
        who = hold.reason or hold.cause
    return _("%(thing)s: %(who)s") % {"thing": thing, "who": who}


def look_at(runs: Sequence[Sequence[Span]], wishes: Sequence[groups.GroupWish]) -> list[list[dict[str, Any]]]:
    """For each date of each run: its span, what would stand in the way of what is wished, and who has that."""
    rows = iter(look_at_wishes(wishes))
    return [[next(rows) for _span in spans] for spans in runs]


def look_at_wishes(wishes: Sequence[groups.GroupWish], own: Sequence[GroupStay] = ()) -> list[dict[str, Any]]:
    """The same for what is wished; what ``own`` have is in nobody's way."""
    mine = {stay.pk for stay in own}
    found = groups.fits(wishes, own)
    return [
        {
            "span": wish.span,
            "clashes": [clash_words(one.what, one.name, one.wanted, one.free) for one in fit.clashes],
            "holds": list(dict.fromkeys(who_has(hold) for hold in holds if hold.group_id not in mine)),
            "outside": outside,
        }
        for wish, fit, holds, outside in zip(
            wishes, found, groups.in_the_way_of(found, wishes), groups.outside_hours(wishes), strict=True
        )
    ]


@tutor_page
@require_http_methods(["GET", "HEAD", "POST"])
def dates(request: HttpRequest, code: str) -> HttpResponse:
    """GET with a day looks only; POST keeps everything for each class, or nothing of it."""
    try:
        outline = queries.access_outline(code)
    except Outline.DoesNotExist as missing:
        raise Http404 from missing
    if outline.retired_at is not None:
        raise Http404
    sent = request.POST if request.method == "POST" else request.GET if "first_day" in request.GET else None
    initial = {"tutor": request.user.pk} if request.user.is_tutor else None
    now, zone = timezone.now(), stations.zone()
    form = DatesForm(sent, outline=outline, by=request.user, today=studio_day(now, zone), initial=initial)
    context: dict[str, Any] = {"form": form, "outline": outline, "runs": [], "near": []}
    if not form.is_bound or not form.is_valid():
        return render(request, "classes/dates.html", context, status=422 if form.is_bound else 200)
    runs: list[list[Span]] = []
    wishes: list[groups.GroupWish] = []
    try:
        runs = [spans_of(outline, days, form.cleaned_data["begins"], zone, now) for days in form.runs()]
        every = [span for spans in runs for span in spans]
        wishes = queries.wishes_for(outline, every, form.cleaned_data["heads_most"])
        if request.method == "POST":
            room = room_chosen(request, wishes, now)
            made = answered_once(request, now, lambda: _make(request, outline, form, runs, room))
            said = ngettext("%(count)d class is announced.", "%(count)d classes are announced.", len(made["courses"]))
            messages.success(request, said % {"count": len(made["courses"])})
            return redirect("course_plan", reference=made["courses"][0])
    except Refused as refused:
        if not refused.refusal.code.startswith(("classes.", "bookings.")):
            raise
        form.add_error(None, str(say(refused.refusal)))
    context["runs"] = look_at(runs, wishes) if runs else []
    blocked = any(is_blocked(rows) for rows in context["runs"])
    if blocked:
        # Days from which on all of it fits: one that is near a blocked date alone would only block another.
        near = groups.nearest_days(wishes, now=now)
        context["near"] = [{"day": day, "query": asking_for(day, sent)} for day in near]
        context |= room_context(room_asked(request, wishes, now))
    context["asked"] = [(name, value) for name, value in sent.items() if name in form.fields]
    context["free"] = not blocked
    context["fits"] = bool(context["runs"]) and not blocked and not form.errors
    return render(request, "classes/dates.html", context, status=409 if form.errors else 200)


def asking_for(day: date, sent: Any) -> str:
    """The same question about another first day."""
    asked = sent.copy()
    asked["first_day"] = day.isoformat()
    for name in ("csrfmiddlewaretoken", "key"):
        asked.pop(name, None)
    return str(asked.urlencode())


def is_blocked(rows: Sequence[dict[str, Any]]) -> bool:
    return any(row["clashes"] for row in rows)


def _make(
    request: HttpRequest, outline: Outline, form: DatesForm, runs: Sequence[Sequence[Span]], room: Room
) -> dict[str, Any]:
    """``room``: what stands in the way of any run moves before the first is kept."""
    found = form.cleaned_data
    return {
        "courses": [
            actions.announce(
                outline=outline,
                spans=spans,
                tutor=found["tutor"],
                heads_most=found["heads_most"],
                heads_least=found["heads_least"],
                is_private=found["is_private"],
                now=timezone.now(),
                by=request.user,
                room=room if not number else (),
            ).reference
            for number, spans in enumerate(runs)
        ]
    }
