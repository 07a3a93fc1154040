"""Letting people in at the desk: with a booking when a rule stands in the way, and without one."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from studiodesk.answers import Refusal, Refused
from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Booking, Visit
from studiodesk.chemistry.views.common import answered_once, sent
from studiodesk.people.access import house_page
from studiodesk.people.models import Member
from studiodesk.words import say

from ..forms import LetInForm, WalkInForm

#: What stands in the way at the door, and who may set it aside.
AT_THE_DOOR = ("bookings.house_full_now", "bookings.alone")


def may_set_aside(member: Member, refusal: Refusal) -> bool:
    return member.is_staff if refusal.code == "bookings.house_full_now" else member.may_run_the_house


def ask_why(request: HttpRequest, booking: Booking, refusal: Refusal) -> HttpResponse:
    """A page that says what stands in the way of this sign-in, and lets whoever may set it aside say why."""
    form = LetInForm(request.POST if "override" in request.POST else None)
    context = {
        "booking": booking,
        "said": say(refusal),
        "form": form if may_set_aside(request.user, refusal) else None,
        "paused": request.POST.get("pause") == "1",
    }
    return render(request, "desk/let_in.html", context, status=409)


@house_page
@require_http_methods(["GET", "HEAD", "POST"])
def walk_in(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    form = WalkInForm(request.POST or None, asks_why="override" in request.POST)
    refusal: Refusal | None = None
    if request.method == "POST" and form.is_valid():
        try:
            answered_once(request, sent(request), now, lambda: _let_in(request, form.cleaned_data, now))
        except Refused as refused:
            refusal = refused.refusal
            if refusal.code not in AT_THE_DOOR:
                form.add_error(None, str(say(refusal)))
        else:
            messages.success(request, _("%(name)s is in.") % {"name": form.cleaned_data["name"]})
            return redirect("desk")
    stands = refusal if refusal and refusal.code in AT_THE_DOOR else None
    if stands and may_set_aside(request.user, stands) and "override" not in form.fields:
        form = WalkInForm(initial=request.POST.dict(), asks_why=True)
        form.fields["override"].required = True
    context = {"form": form, "said": say(stands) if stands else None}
    status = 200 if request.method != "POST" else 409 if stands else 422
    return render(request, "desk/walk_in.html", context, status=status)


def _let_in(request: HttpRequest, chosen: dict[str, Any], now: Any) -> dict[str, Any]:
    visit = bookings.come_in(
        kind=Visit.Kind.WALK_IN,
        name=chosen["name"],
        heads=chosen["heads"],
        phone=chosen["phone"],
        override=chosen.get("override", ""),
        now=now,
        by=request.user,
    )
    return {"visit": visit.pk}
