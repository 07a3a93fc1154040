"""The front door on a member's own phone: sign in, sign out, and what became of the sheets."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studiodesk.answers import Refusal, Refused
from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Booking, GroupStay, Visit
from studiodesk.bookings.queries import access_visit
from studiodesk.bookings.rules import door as rules
from studiodesk.chemistry import actions as chemistry
from studiodesk.chemistry import queries as sheets
from studiodesk.chemistry.forms import KINDS
from studiodesk.chemistry.models import Feed
from studiodesk.chemistry.views.common import answered_once, sent
from studiodesk.chemistry.views.tablet import sheets_words
from studiodesk.people.access import house_page, member_page
from studiodesk.words import say

from .. import queries
from ..forms import OwnSheetsForm
from ..words import SAID_OF_SHEETS


def _page(request: HttpRequest, refusal: Refusal | None = None) -> HttpResponse:
    """The door as it is now; with ``refusal`` the sentence of what could not be done."""
    now = timezone.now()
    page = queries.door_page(request.user, now, request.studio)
    context = {"page": page, "now": now, "said": say(refusal) if refusal else None}
    status = int(refusal.facts.get("status", 409)) if refusal else 200
    return render(request, "desk/door.html", context, status=status)


@member_page
@never_cache
@require_safe
def door(request: HttpRequest) -> HttpResponse:
    return _page(request)


def _mine(request: HttpRequest, pk: int) -> Booking:
    """One's own booking only: for others there is the desk."""
    try:
        booking = queries.access_booking(request.user, pk)
    except Booking.DoesNotExist as missing:
        raise Http404 from missing
    if booking.member_id != request.user.pk:
        raise Http404
    return booking


@member_page
@require_POST
def door_in(request: HttpRequest, pk: int) -> HttpResponse:
    booking, now = _mine(request, pk), timezone.now()
    try:
        bookings.arrive(booking=booking, now=now, by=request.user)
    except Refused as refused:
        return _page(request, refused.refusal)
    messages.success(request, _("You are signed in. Welcome."))
    return redirect("door")


@member_page
@require_POST
def door_out(request: HttpRequest, pk: int) -> HttpResponse:
    """``undo`` 1 takes it back, for a quarter of an hour."""
    booking, now = _mine(request, pk), timezone.now()
    undo = request.POST.get("undo") == "1" and rules.may_take_back(booking.left_at, now)
    try:
        if undo:
            bookings.undo_leave(booking=booking, now=now, by=request.user)
        else:
            bookings.leave(booking=booking, now=now, by=request.user)
    except Refused as refused:
        return _page(request, refused.refusal)
    messages.success(request, _("You are in again.") if undo else _("You are signed out."))
    return redirect("door")


@member_page
@require_POST
def door_here(request: HttpRequest) -> HttpResponse:
    """A keyholder, staff or a tutor is in the house without a booking."""
    kind = queries.role_of(request.user) or str(Visit.Kind.TUTOR)
    try:
        bookings.come_in(kind=kind, person=request.user, now=timezone.now(), by=request.user)
    except Refused as refused:
        return _page(request, refused.refusal)
    messages.success(request, _("You are in the house, and on the roll-call."))
    return redirect("door")


@member_page
@require_POST
def door_gone(request: HttpRequest, pk: int) -> HttpResponse:
    """Somebody without a booking has left: oneself, or for the desk anybody.  ``at``: where to go back to."""
    try:
        visit = access_visit(request.user, pk)
    except Visit.DoesNotExist as missing:
        raise Http404 from missing
    bookings.go_out(visit=visit, now=timezone.now(), by=request.user)
    own = visit.person_id == request.user.pk
    messages.success(request, _("You are signed out.") if own else _("They are signed out."))
    return redirect(_back(request))


@house_page
@require_POST
def group_gone(request: HttpRequest, pk: int) -> HttpResponse:
    """Everybody of a class or a group has left."""
    try:
        group = GroupStay.objects.get(pk=pk)
    except GroupStay.DoesNotExist as missing:
        raise Http404 from missing
    bookings.group_gone(group=group, now=timezone.now(), by=request.user)
    messages.success(request, _("%(title)s: everybody has left.") % {"title": group.title})
    return redirect("desk")


def _back(request: HttpRequest) -> str:
    """Where the press came from."""
    at = request.POST.get("at", "")
    return at if at in {"desk", "roll"} and request.user.may_run_the_house else "door"


# ---- sheets --------------------------------------------------------------------------------------------------------


@member_page
@require_POST
def door_said(request: HttpRequest, pk: int) -> HttpResponse:
    """What became of the sheets of a stay for which nothing was logged: ``said`` none or unknown."""
    try:
        booking = queries.access_booking(request.user, pk)
    except Booking.DoesNotExist as missing:
        raise Http404 from missing
    said = request.POST.get("said", "")
    bookings.say_of_sheets(booking=booking, said=said, now=timezone.now(), by=request.user)
    messages.success(request, SAID_OF_SHEETS[said])
    return redirect(_back(request))


@member_page
@require_http_methods(["GET", "HEAD", "POST"])
def door_sheets(request: HttpRequest, pk: int) -> HttpResponse:
    """Add the sheets of one's own stay."""
    booking, now = _mine(request, pk), timezone.now()
    refusal = rules.may_log_own(queries.session_of(booking), now)
    if refusal or booking.processor is None:
        raise Refused(refusal or Refusal("bookings.no_sheets_here"))
    form = OwnSheetsForm(request.POST or None, sizes=sheets.sheets_for(booking.processor))
    status = 422 if request.method == "POST" else 200
    if request.method == "POST" and form.is_valid():
        try:
            answer = answered_once(request, sent(request), now, lambda: _log(request, booking, form, now))
        except Refused as refused:
            form.refuse(refused.refusal)
        else:
            messages.success(request, answer["words"])
            return redirect("door_sheets", pk=booking.pk)
    names = dict(KINDS)
    logged = [(one, names.get(one.kind, one.kind)) for one in sheets.logged_for(booking)]
    context = {"form": form, "booking": booking, "logged": logged}
    return render(request, "desk/door_sheets.html", context, status=status)


def _log(request: HttpRequest, booking: Booking, form: OwnSheetsForm, now: Any) -> dict[str, Any]:
    chosen = form.cleaned_data
    feed = chemistry.log_sheets(
        processor=booking.processor,
        sheet=chosen["sheet"],
        sheets=chosen["sheets"],
        kind=chosen["kind"],
        who=Feed.Who.BOOKING,
        booking=booking,
        fed_at=booking.left_at or now,
        now=now,
        by=request.user,
    )
    return {"feed": feed.pk, "words": _("Logged %(what)s.") % {"what": sheets_words(feed)}}
