"""Somebody says that something does not work; the desk looks at it."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studiodesk.bookings import actions as bookings
from studiodesk.bookings import queries as booking_queries
from studiodesk.bookings.forms.outages import FaultForm
from studiodesk.bookings.models import Booking, FaultReport
from studiodesk.bookings.rules import faults as rules
from studiodesk.bookings.words.outages import DANGER, KINDS
from studiodesk.chemistry.views.common import answered_once, asker
from studiodesk.chemistry.views.tablet import light, tablet_page
from studiodesk.people.access import house_page, member_page

from .. import queries

USUAL = [(kind, KINDS[kind]) for kind in rules.KINDS if kind not in rules.DANGERS]
DANGERS = [(kind, KINDS[kind]) for kind in rules.KINDS if kind in rules.DANGERS]


def _chosen(request: HttpRequest, now: datetime) -> str:
    """The thing that is chosen to begin with: of the address, of the booking it names, or where somebody is now."""
    if request.GET.get("thing"):
        return request.GET["thing"]
    pk = request.GET.get("booking", "")
    booking = None
    if pk.isascii() and pk.isdigit() and len(pk) < 10:
        try:
            booking = booking_queries.access_booking(request.user, int(pk))
        except Booking.DoesNotExist:
            booking = None
    elif request.user.is_authenticated:
        booking = booking_queries.thing_at_hand(request.user, now)
    return booking_queries.thing_key(booking.station) if booking is not None else ""


def _context(form: FaultForm, key: str, now: datetime) -> dict[str, Any]:
    thing = booking_queries.thing_named(key)
    known = queries.known_faults(thing.resource) if thing is not None else []
    return {"form": form, "usual": USUAL, "dangers": DANGERS, "danger_words": DANGER, "known": known, "thing": thing}


def _report(request: HttpRequest, form: FaultForm, now: datetime, who: dict[str, Any]) -> int:
    data = form.cleaned_data

    def work() -> dict[str, Any]:
        made = bookings.report_fault(
            resource=data["thing"].resource, kind=data["kind"], more=data["more"], now=now, **who
        )
        return {"fault": made.pk}

    said = {name: request.POST.get(name, "") for name in form.fields}
    return int(answered_once(request, said, now, work)["fault"])


@member_page
@require_http_methods(["GET", "HEAD", "POST"])
def fault_new(request: HttpRequest) -> HttpResponse:
    """``?thing=station 3`` or ``?booking=7`` chooses what it is about."""
    now = timezone.now()
    if request.method == "POST":
        form = FaultForm(request.POST)
        if form.is_valid():
            return redirect("fault", pk=_report(request, form, now, {"by": request.user}))
        context, status = _context(form, request.POST.get("thing", ""), now), 422
    else:
        key = _chosen(request, now)
        context, status = _context(FaultForm(initial={"thing": key}), key, now), 200
    return render(request, "desk/fault_new.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@tablet_page
def tablet_fault(request: HttpRequest) -> HttpResponse:
    """The same at the dry end, with tiles to tap."""
    now = timezone.now()
    key = request.POST.get("thing", "") or request.GET.get("thing", "")
    form = FaultForm(request.POST if request.method == "POST" else None, initial={"thing": key})
    if request.method == "POST" and form.is_valid():
        _report(request, form, now, asker(request))
        thanks = _("Reported: %(name)s. The keyholders and staff know.") % {"name": form.cleaned_data["thing"].name}
        messages.success(request, thanks)
        if form.cleaned_data["kind"] in rules.DANGERS:
            messages.error(request, str(DANGER))
        return redirect("tablet")
    groups = form.fields["thing"].choices[1:]  # type: ignore[attr-defined]
    context = {**_context(form, key, now), "groups": groups, "key_chosen": key, "dim": light(request)}
    return render(request, "desk/tablet_fault.html", context, status=422 if request.method == "POST" else 200)


def _fault(request: HttpRequest, pk: int) -> queries.Fault:
    try:
        return queries.fault_page(request.user, pk)
    except FaultReport.DoesNotExist as missing:
        raise Http404 from missing


@member_page
@require_safe
def fault(request: HttpRequest, pk: int) -> HttpResponse:
    """What was reported; for a danger what to do now; for the desk what it can do about it."""
    return render(request, "desk/fault.html", {"fault": _fault(request, pk), "danger_words": DANGER})


@house_page
@require_POST
def fault_settle(request: HttpRequest, pk: int) -> HttpResponse:
    """It works, or it was nothing."""
    found = _fault(request, pk)
    bookings.settle_fault(report=found.row, now=timezone.now(), by=request.user)
    messages.success(request, _("Settled: %(name)s.") % {"name": found.thing.name})
    return redirect("desk")
