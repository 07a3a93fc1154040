"""The desk as it is now, and signing people in and out."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe
from django_htmx.http import reswap

from studiodesk.answers import Refused
from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Booking
from studiodesk.people.access import house_page

from .. import queries
from ..forms import WalkInForm
from .letting_in import AT_THE_DOOR, ask_why


def _undo(request: HttpRequest) -> dict[str, Any] | None:
    """What the last press did, so that the page can offer to take it back: ``?done=in-12`` or ``?done=out-12``."""
    way, _dash, pk = request.GET.get("done", "").partition("-")
    if way not in {"in", "out"} or not (pk.isascii() and pk.isdigit()) or len(pk) > 18:
        return None
    try:
        booking = queries.access_booking(request.user, int(pk))
    except Booking.DoesNotExist:
        return None
    stands = booking.left_at if way == "out" else booking.arrived_at and not booking.left_at
    if not stands:
        return None
    asks = way == "out" and booking.pk in queries.silent([booking], timezone.now())
    stayed = booking.left_at - booking.arrived_at if booking.left_at and booking.arrived_at else None
    return {"way": way, "booking": booking, "asks": asks, "stayed": stayed}


def _reckoned(request: HttpRequest) -> int:
    """Of how many baths "Reckon again" has just foretold the end: ``?reckoned=9``."""
    count = request.GET.get("reckoned", "")
    return int(count) if count.isascii() and count.isdigit() and len(count) < 5 else 0


@house_page
@never_cache
@require_safe
def desk(request: HttpRequest) -> HttpResponse:
    """``?pause=1`` stands still.  htmx asks with ``?poll=<signature it has>`` for the moving part alone."""
    now = queries.desk_now(timezone.now(), request.studio)
    context: dict[str, Any] = {
        "desk": now,
        "paused": request.GET.get("pause") == "1",
        "may_read_note": now.shifts.may_read(request.user),
    }
    if not request.htmx or "poll" not in request.GET:
        context |= {"undo": _undo(request), "reckoned": _reckoned(request), "walk_in": WalkInForm(asks_why=False)}
        return render(request, "desk/desk.html", context)
    context["has_changed"] = request.GET["poll"] != now.signature
    answer = render(request, "desk/desk.html#answer", context)
    # What has not changed is not put in again: a link that has focus keeps it, a word half read stays.
    return answer if context["has_changed"] else reswap(answer, "none")


def _signed(request: HttpRequest, pk: int, way: str) -> HttpResponse:
    """Sign in or out, or take that back, and show the desk with what was done."""
    undo = request.POST.get("undo") == "1"
    try:
        booking = queries.access_booking(request.user, pk)
    except Booking.DoesNotExist as missing:
        raise Http404 from missing
    act, said = ACTS[way, undo]
    more = {"override": request.POST.get("override", "")} if (way, undo) == ("in", False) else {}
    try:
        act(booking=booking, now=timezone.now(), by=request.user, **more)
    except Refused as refused:
        if refused.refusal.code not in AT_THE_DOOR:
            raise
        return ask_why(request, booking, refused.refusal)
    messages.success(request, said % {"name": booking.member.name})
    keep = {} if undo else {"done": f"{way}-{pk}"}
    if request.POST.get("pause") == "1":
        keep["pause"] = "1"
    return redirect(reverse("desk", query=keep or None))


ACTS: dict[tuple[str, bool], tuple[Any, Any]] = {
    ("in", False): (bookings.arrive, _("%(name)s is signed in.")),
    ("in", True): (bookings.undo_arrive, _("%(name)s is not signed in any more.")),
    ("out", False): (bookings.leave, _("%(name)s is signed out.")),
    ("out", True): (bookings.undo_leave, _("%(name)s is in again.")),
}


@house_page
@require_POST
def sign_in(request: HttpRequest, pk: int) -> HttpResponse:
    """``undo`` 1 takes it back."""
    return _signed(request, pk, "in")


@house_page
@require_POST
def sign_out(request: HttpRequest, pk: int) -> HttpResponse:
    """``undo`` 1 takes it back."""
    return _signed(request, pk, "out")
