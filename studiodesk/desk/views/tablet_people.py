"""The tablet at the dry end: today's people sign in and out with one finger."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from studiodesk.answers import Refusal, Refused
from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Booking
from studiodesk.chemistry.views.common import asker, studio_zone
from studiodesk.chemistry.views.tablet import light, tablet_page
from studiodesk.words import say

from .. import queries
from ..words import SAID_OF_SHEETS


def _page(request: HttpRequest, refusal: Refusal | None = None) -> HttpResponse:
    now = timezone.now()
    rows = queries.people_of_the_day(now, studio_zone())
    done = request.GET.get("done", "")
    context = {
        "inside": [row for row in rows if row.standing == "in"],
        "coming": [row for row in rows if row.standing == "may come"],
        "later": [row for row in rows if row.standing == "later"],
        "asks": [row for row in rows if row.asks],
        "undo": next((row for row in rows if done == f"{row.standing}-{row.booking.pk}"), None),
        "said": say(refusal) if refusal else None,
        "now": now,
        "dim": light(request),
    }
    status = int(refusal.facts.get("status", 409)) if refusal else 200
    return render(request, "desk/tablet_people.html", context, status=status)


@tablet_page
@never_cache
@require_safe
def tablet_people(request: HttpRequest) -> HttpResponse:
    """``done``: what the last press did, so that it can be taken back."""
    return _page(request)


def _today(pk: int, now: datetime) -> Booking:
    try:
        return queries.access_booking_of_the_day(pk, now, studio_zone())
    except Booking.DoesNotExist as missing:
        raise Http404 from missing


ACTS: dict[tuple[str, bool], tuple[Any, Any]] = {
    ("in", False): (bookings.arrive, _("%(name)s is signed in.")),
    ("in", True): (bookings.undo_arrive, _("%(name)s is not signed in any more.")),
    ("left", False): (bookings.leave, _("%(name)s is signed out.")),
    ("left", True): (bookings.undo_leave, _("%(name)s is in again.")),
}


def _signed(request: HttpRequest, pk: int, way: str) -> HttpResponse:
    now, undo = timezone.now(), request.POST.get("undo") == "1"
    booking = _today(pk, now)
    act, said = ACTS[way, undo]
    try:
        act(booking=booking, now=now, **asker(request))
    except Refused as refused:
        return _page(request, refused.refusal)
    messages.success(request, said % {"name": booking.member.name})
    return redirect(reverse("tablet_people", query=None if undo else {"done": f"{way}-{pk}"}))


@require_POST
@tablet_page
def tablet_in(request: HttpRequest, pk: int) -> HttpResponse:
    """``undo`` 1 takes it back."""
    return _signed(request, pk, "in")


@require_POST
@tablet_page
def tablet_out(request: HttpRequest, pk: int) -> HttpResponse:
    """``undo`` 1 takes it back."""
    return _signed(request, pk, "left")


@require_POST
@tablet_page
def tablet_said(request: HttpRequest, pk: int) -> HttpResponse:
    """What became of the sheets of a stay for which nothing was logged: ``said`` none or unknown."""
    now, said = timezone.now(), request.POST.get("said", "")
    try:
        bookings.say_of_sheets(booking=_today(pk, now), said=said, now=now, **asker(request))
    except Refused as refused:
        return _page(request, refused.refusal)
    messages.success(request, SAID_OF_SHEETS[said])
    return redirect("tablet_people")
