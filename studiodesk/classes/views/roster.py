"""The roster on a phone: who comes, who is here, who sits where, sign-offs in one go, notes for the next tutor."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from studiodesk.answers import Refused
from studiodesk.people.access import tutor_page
from studiodesk.words import say

from .. import actions, queries
from ..forms import NotesForm
from ..models import Course, Meeting
from ..queries import evening
from .common import answered_once, may_manage
from .tally import tally


def _meeting(request: HttpRequest, course: Course) -> Meeting:
    """The date that is asked for; else the one that is on or comes next."""
    asked = request.GET.get("date", "")
    if asked:
        found = next((one for one in queries.meetings_of(course) if str(one.pk) == asked), None)
    else:
        found = evening.meeting_now(course, timezone.now())
    if found is None:
        raise Http404
    return found


def _ticked(request: HttpRequest, heads: list[evening.Head]) -> list[evening.Head]:
    ticked = set(request.POST.getlist("head"))
    return [head for head in heads if str(head.seat.pk) in ticked]


def _came(request: HttpRequest, meeting: Meeting, heads: list[evening.Head]) -> str:
    """What was changed on this page: another phone may have ticked others since it was shown."""
    ticked, was = {head.seat.pk for head in _ticked(request, heads)}, set(request.POST.getlist("was"))
    actions.mark_arrivals(
        meeting=meeting,
        came=[head.seat for head in heads if head.seat.pk in ticked and str(head.seat.pk) not in was],
        not_here=[head.seat for head in heads if str(head.seat.pk) in was and head.seat.pk not in ticked],
        now=timezone.now(),
        by=request.user,
    )
    here = sum(head.is_here for head in evening.roster(meeting, request.user))
    return _("Kept: %(here)s of %(all)s are here.") % {"here": here, "all": len(heads)}


def _some_left(request: HttpRequest, meeting: Meeting, heads: list[evening.Head]) -> str:
    """Whoever was here as this page was shown, and is ticked no more."""
    ticked, was = {head.seat.pk for head in _ticked(request, heads)}, set(request.POST.getlist("was"))
    seats = [head.seat for head in heads if str(head.seat.pk) in was and head.seat.pk not in ticked]
    count = actions.some_left(meeting=meeting, seats=seats, now=timezone.now(), by=request.user)
    return ngettext("%(count)d person has left.", "%(count)d people have left.", count) % {"count": count}


def _left(request: HttpRequest, meeting: Meeting, heads: list[evening.Head]) -> str:
    actions.all_left(meeting=meeting, now=timezone.now(), by=request.user)
    return _("Everybody has left.")


def _seated(request: HttpRequest, meeting: Meeting, heads: list[evening.Head]) -> str:
    many = {str(station.pk): station for station in evening.stations_of(meeting)}
    at = {head.seat.pk: many.get(request.POST.get(f"at-{head.seat.pk}", "")) for head in heads}
    actions.seat_heads(meeting=meeting, at=at, now=timezone.now(), by=request.user)
    return _("Kept.")


def _shared(request: HttpRequest, meeting: Meeting, heads: list[evening.Head]) -> str:
    actions.share_out_stations(meeting=meeting, now=timezone.now(), by=request.user)
    return _("Everybody has a station.")


def _signed(request: HttpRequest, meeting: Meeting, heads: list[evening.Head]) -> str:
    """Whoever is ticked is here: that need not be kept in a press of its own."""
    _came(request, meeting, heads)
    seats = [head.seat for head in _ticked(request, heads) if head.can_be_signed_off]
    signed = actions.sign_off_heads(meeting=meeting, seats=seats, now=timezone.now(), by=request.user)
    said = ngettext("%(count)d person is signed off.", "%(count)d people are signed off.", len(signed))
    return said % {"count": len(signed)}


def _noted(request: HttpRequest, meeting: Meeting, heads: list[evening.Head]) -> str:
    actions.leave_note(meeting=meeting, notes=request.POST.get("notes", ""), now=timezone.now(), by=request.user)
    return _("Kept for whoever teaches next.")


DOES: dict[str, Callable[[HttpRequest, Meeting, list[evening.Head]], str]] = {
    "came": _came,
    "left": _left,
    "some": _some_left,
    "seat": _seated,
    "share": _shared,
    "sign": _signed,
    "note": _noted,
}


#: What a tutor can put right on the page itself.
SAID_HERE = {"classes.not_begun", "classes.nobody_to_sign_off", "classes.not_its_station", "classes.called_off"}


@tutor_page
@require_http_methods(["GET", "HEAD", "POST"])
def roster(request: HttpRequest, reference: str) -> HttpResponse:
    try:
        course = queries.access_course(reference)
    except Course.DoesNotExist as missing:
        raise Http404 from missing
    if not may_manage(request.user, course):
        raise Http404
    meeting = _meeting(request, course)
    if course.drop_in:
        return tally(request, meeting)
    heads = evening.roster(meeting, request.user)
    notes = NotesForm(initial={"notes": meeting.notes})
    if request.method == "POST" and request.POST.get("do") == "note":
        notes = NotesForm(request.POST)
    if request.method == "POST" and not notes.errors:
        do = DOES.get(request.POST.get("do", ""))
        if do is None:
            raise Http404
        body = {name: request.POST.getlist(name) for name in request.POST if name not in {"csrfmiddlewaretoken", "key"}}
        try:
            answer = answered_once(request, timezone.now(), lambda: {"said": do(request, meeting, heads)}, body=body)
        except Refused as refused:
            if refused.refusal.code not in SAID_HERE:
                raise
            messages.error(request, str(say(refused.refusal)))
        else:
            messages.success(request, answer["said"])
        return redirect(f"{reverse('roster', args=[reference])}?date={meeting.pk}")
    signs = list(course.outline.signs_off.select_related("process")) if course.outline is not None else []
    context: dict[str, Any] = {
        "course": course,
        "meeting": meeting,
        "meetings": queries.meetings_of(course),
        "heads": heads,
        "notes": notes,
        "here": sum(head.is_here for head in heads),
        "stations": evening.stations_of(meeting),
        "signs_off": [need.kind or need.process.name for need in signs],
        "before": evening.notes_before(meeting),
        "teaches": request.user.pk == course.tutor_id,
    }
    response = render(request, "classes/roster.html", context, status=422 if notes.errors else 200)
    response["Cache-Control"] = "private, no-store"
    return response
