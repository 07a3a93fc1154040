"""Whom something out of service hits, or shorter hours, and what becomes of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from studiodesk.answers import Refused
from studiodesk.bookings import actions as bookings
from studiodesk.bookings import queries as booking_queries
from studiodesk.bookings.models import Booking, Outage
from studiodesk.people.access import house_page
from studiodesk.words import say

from .. import queries

#: So many sentences about what could not be moved; the page itself shows the others.
MOST_SAID = 4


def _outage(pk: int) -> Outage:
    try:
        return booking_queries.access_outage(pk)
    except Outage.DoesNotExist as missing:
        raise Http404 from missing


@house_page
@require_safe
def outage(request: HttpRequest, pk: int) -> HttpResponse:
    page = queries.outage_page(_outage(pk), request.studio, timezone.now(), request.user)
    return render(request, "desk/outage.html", {"page": page, "list": page.list, "pk": pk})


@house_page
@require_POST
def outage_settle(request: HttpRequest, pk: int) -> HttpResponse:
    """``only`` or ``cancel`` names one booking; without them all are moved, each as it is chosen in ``move-<pk>``.

    Pressed twice it finds nothing left to do.
    """
    row, now = _outage(pk), timezone.now()
    _settle(request, booking_queries.hits_of(row, now), row)
    return redirect("outage", pk=pk)


@house_page
@require_POST
def outage_group(request: HttpRequest, pk: int) -> HttpResponse:
    """``hit`` names a group and its thing; ``do``: "another" or "without".  Pressed twice it finds nothing to do."""
    row, now = _outage(pk), timezone.now()
    found = next((one for one in booking_queries.groups_hit_by(row, now) if one.key == request.POST.get("hit")), None)
    do = request.POST.get("do")
    if found is None:
        messages.warning(request, _("Nothing stands in the way of that class any more."))
    elif do not in {"another", "without"}:
        raise Http404
    else:
        asked = {"stay": found.stay, "resource": found.thing.resource, "now": now, "by": request.user}
        try:
            if do == "another":
                has = bookings.take_another(**asked).name
                said = _("%(title)s has %(has)s instead of %(was)s.")
            else:
                bookings.do_without(**asked)
                has, said = "", _("%(title)s goes on without %(was)s.")
        except Refused as refused:
            messages.error(request, str(say(refused.refusal)))
        else:
            messages.success(request, said % {"title": found.stay.title, "has": has, "was": found.thing.name})
    return redirect("outage", pk=pk)


@house_page
@require_POST
def outage_end(request: HttpRequest, pk: int) -> HttpResponse:
    """Everything of it is in service again from now on."""
    row = _outage(pk)
    names = queries.out_of(row).names
    bookings.end_early(outage=row, now=timezone.now(), by=request.user)
    messages.success(request, _("In service again: %(names)s.") % {"names": names})
    return redirect("close_station")


@house_page
@require_safe
def hit_by_hours(request: HttpRequest) -> HttpResponse:
    """Bookings in whose time the house is not open any more."""
    now = timezone.now()
    found = booking_queries.hit_by_hours(now, request.studio)
    context = {"list": queries.hit_list(found, request.studio, now, request.user)}
    return render(request, "desk/hit_by_hours.html", context)


@house_page
@require_POST
def hit_by_hours_settle(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    if request.POST.get("tell"):
        count = bookings.tell_house_closed(now=now, by=request.user)
        said = ngettext("%(count)d person was told.", "%(count)d bookings: everybody was told.", count)
        messages.success(request, said % {"count": count})
    else:
        _settle(request, booking_queries.hit_by_hours(now, request.studio), None)
    return redirect("hit_by_hours")


def _settle(request: HttpRequest, found: Sequence[Booking], row: Outage | None) -> None:
    """Move or cancel what the form names, and say what became of it."""
    now, by_key = timezone.now(), {str(booking.pk): booking for booking in found}
    only, gone = request.POST.get("only", ""), request.POST.get("cancel", "")
    if (only and only not in by_key) or (gone and gone not in by_key):
        messages.warning(request, _("Nothing stands in the way of that booking any more."))
    elif gone:
        try:
            bookings.cancel_hit(booking=by_key[gone], outage=row, now=now, by=request.user)
        except Refused as refused:
            messages.error(request, str(say(refused.refusal)))
        else:
            messages.success(request, _("Cancelled; %(name)s is told.") % {"name": by_key[gone].member.name})
    else:
        wanted = [by_key[only]] if only else list(found)
        chosen = _chosen(request, wanted)
        asked = [booking for booking in wanted if booking.pk in chosen]
        done = bookings.move_all(bookings=asked, outage=row, now=now, by=request.user, chosen=chosen)
        _say(request, done)


def _chosen(request: HttpRequest, wanted: Sequence[Booking]) -> dict[int, Any]:
    """Booking → the move that the form chose for it; those without one are left alone."""
    found = {one.pk: booking_queries.option_of(request.POST.get(f"move-{one.pk}", "")) for one in wanted}
    return {pk: option for pk, option in found.items() if option is not None}


def _say(request: HttpRequest, done: Sequence[bookings.Moved]) -> None:
    moved = [one for one in done if one.refusal is None]
    failed = [one for one in done if one.refusal is not None]
    if not done:
        messages.warning(request, _("Nothing was chosen to be moved."))
    if moved:
        said = ngettext(
            "Moved %(count)d booking; the person is told.", "Moved %(count)d bookings; everybody is told.", len(moved)
        )
        messages.success(request, said % {"count": len(moved)})
    for one in failed[:MOST_SAID]:
        if one.refusal is not None:
            why = str(say(one.refusal))
            messages.error(
                request, _("%(name)s could not be moved: %(why)s") % {"name": one.booking.member.name, "why": why}
            )
    if len(failed) > MOST_SAID:
        more = len(failed) - MOST_SAID
        said = ngettext("%(count)d more could not be moved.", "%(count)d more could not be moved.", more)
        messages.error(request, said % {"count": more})
