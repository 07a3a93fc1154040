"""Taking things out of service over whatever is booked, and giving them back."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from studiodesk.answers import Refused
from studiodesk.bookings import actions as bookings
from studiodesk.bookings import queries as booking_queries
from studiodesk.bookings.forms.outages import CloseForm, ReopenForm
from studiodesk.bookings.models import Booking, FaultReport, Outage
from studiodesk.journal.actions import hash_of, once
from studiodesk.people.access import house_page
from studiodesk.stations import queries as stations
from studiodesk.words import say

from .. import queries

#: A fault is mostly seen to within that time.
USUAL = timedelta(hours=2)


def _report(request: HttpRequest, pk: str) -> FaultReport | None:
    """The fault that this is about, if it is about one."""
    if not (pk.isascii() and pk.isdigit() and len(pk) < 10):
        return None
    try:
        return booking_queries.access_fault(request.user, int(pk))
    except FaultReport.DoesNotExist:
        return None


def _initial(report: FaultReport, now: datetime) -> dict[str, Any]:
    """From now on, the thing that was reported, and what was said of it."""
    fault, begins = queries.Fault(report), timezone.localtime(now).replace(second=0, microsecond=0)
    ends = begins + USUAL
    return {
        "things": [fault.key],
        "first_day": begins.date(),
        "first_time": begins.time(),
        "last_day": ends.date(),
        "last_time": ends.time(),
        "reason": fault.what,
    }


def _seen(hits: list[Booking], groups: list[booking_queries.GroupHit]) -> str:
    """Which bookings and groups somebody was shown: if others stand there by now, they are shown first."""
    shown = {"hit": [booking.pk for booking in hits], "groups": [one.key for one in groups]}
    return hash_of(shown)[:16] if hits or groups else ""


def _shut(request: HttpRequest, form: CloseForm, report: FaultReport | None, now: datetime) -> Outage:
    data, span = form.cleaned_data, form.span()

    def work() -> dict[str, Any]:
        said: dict[str, Any] = {"span": span, "reason": data["reason"], "now": now, "by": request.user}
        if form.chosen_service is not None:
            return {"outage": bookings.shut_service(service=form.chosen_service, **said).outage.pk}
        cause = Outage.Cause.FAULT if report is not None else Outage.Cause.CLOSURE
        return {"outage": bookings.shut(things=form.chosen(), cause=cause, report=report, **said).outage.pk}

    sent = {name: request.POST.getlist(name) for name in form.fields}
    key, asker = request.POST.get("key", ""), f"member {request.user.pk}"
    answer, _replayed = once(key=key, asker=asker, body=sent, now=now, work=work)
    return booking_queries.access_outage(answer["outage"])


@house_page
@require_http_methods(["GET", "HEAD", "POST"])
def close_station(request: HttpRequest) -> HttpResponse:
    """Whom it hits is shown before it is done: with nobody there one press does it, else the second.

    ``?report=3`` fills in what was reported.
    """
    now = timezone.now()
    sent = request.POST if request.method == "POST" else None
    report = _report(request, (sent or request.GET).get("report", ""))
    initial = _initial(report, now) if report is not None else {}
    form = CloseForm(sent, zone=stations.zone(request.studio), now=now, initial=initial)
    context: dict[str, Any] = {"form": form, "closures": queries.out_of_service(now), "report": report}
    status = 200
    if sent is not None:
        status = 422
        if form.is_valid():
            things, span = form.chosen(), form.span()
            keys = [thing.resource_id for thing in things]
            hits, groups = booking_queries.who_is_hit(keys, span, now), booking_queries.groups_hit(keys, span, now)
            seen, stand = _seen(hits, groups), bool(hits or groups)
            if sent.get("look") or (stand and sent.get("seen") != seen):
                context |= {"hits": hits, "groups": groups, "stand": stand, "seen": seen, "things": things}
                context["nobody"] = not stand
                return render(request, "desk/close_station.html", context, status=409 if stand else 200)
            try:
                outage = _shut(request, form, report, now)
            except Refused as refused:
                form.add_error(None, str(say(refused.refusal)))
            else:
                return _done(request, outage, now)
    return render(request, "desk/close_station.html", context, status=status)


def _done(request: HttpRequest, outage: Outage, now: datetime) -> HttpResponse:
    hits = len(booking_queries.hits_of(outage, now)) + len(booking_queries.groups_hit_by(outage, now))
    names = queries.out_of(outage).names
    if not hits:
        messages.success(request, _("Out of service for that time: %(names)s.") % {"names": names})
        return redirect("close_station")
    said = ngettext(
        "Out of service: %(names)s. Whoever is booked there was told; settle %(count)d booking or class below.",
        "Out of service: %(names)s. Whoever is booked there was told; settle %(count)d bookings and classes below.",
        hits,
    )
    messages.success(request, said % {"names": names, "count": hits})
    return redirect("outage", pk=outage.pk)


@house_page
@require_POST
def reopen_station(request: HttpRequest) -> HttpResponse:
    """``thing``, ``starts``, ``ends`` and perhaps ``outage`` as the page wrote them."""
    now = timezone.now()
    form = ReopenForm(request.POST)
    back = redirect("close_station")
    if form.is_valid():
        thing, outage = form.cleaned_data["thing"], None
        if form.cleaned_data["outage"]:
            try:
                outage = booking_queries.access_outage(form.cleaned_data["outage"])
            except Outage.DoesNotExist as missing:
                raise Http404 from missing
        bookings.reopen(thing=thing, span=form.span(), now=now, by=request.user, outage=outage)
        messages.success(request, _("%(name)s is in service again.") % {"name": thing.name})
    else:
        messages.error(request, _("That closure is not there any more."))
    return back
