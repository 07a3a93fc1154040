"""Taking a station or a processor out of service, and giving it back."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from studiodesk.answers import Refused
from studiodesk.bookings import actions as bookings
from studiodesk.people.access import house_page
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Processor
from studiodesk.words import say

from .. import queries
from ..forms import CloseForm, ReopenForm


@house_page
@require_http_methods(["GET", "HEAD", "POST"])
def close_station(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    form = CloseForm(request.POST or None, zone=stations.zone(request.studio), now=now)
    context: dict[str, Any] = {"form": form, "closures": queries.closures(now)}
    if request.method == "POST" and form.is_valid():
        data, thing = form.cleaned_data, form.cleaned_data["thing"]
        close: Any = bookings.close_processor if isinstance(thing, Processor) else bookings.close_station
        named = "processor" if isinstance(thing, Processor) else "station"
        try:
            close(**{named: thing}, span=form.span(), reason=data["reason"], now=now, by=request.user)
        except Refused as refused:
            form.add_error(None, str(say(refused.refusal)))
            context["in_the_way"] = queries.bookings_named(list(refused.refusal.facts.get("bookings", [])))
        else:
            messages.success(request, _("%(name)s is out of service for that time.") % {"name": thing.name})
            return redirect("close_station")
    status = 422 if request.method == "POST" else 200
    return render(request, "desk/close_station.html", context, status=status)


@house_page
@require_POST
def reopen_station(request: HttpRequest) -> HttpResponse:
    """``thing``, ``starts`` and ``ends`` as the list of closures wrote them."""
    now = timezone.now()
    form = ReopenForm(request.POST)
    if form.is_valid():
        thing = form.cleaned_data["thing"]
        bookings.reopen(thing=thing, span=form.span(), now=now, by=request.user)
        messages.success(request, _("%(name)s can be booked again.") % {"name": thing.name})
    else:
        messages.error(request, _("That closure is not there any more."))
    return redirect("close_station")
