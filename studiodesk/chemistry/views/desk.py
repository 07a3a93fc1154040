"""Sheets logged at the desk: the tablet's act with any processor, member and past time."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from studiodesk.answers import Refused
from studiodesk.bookings.models import Booking
from studiodesk.people.access import house_page
from studiodesk.words import say

from .. import actions, queries
from ..forms import DeskSheetsForm, booking_pk
from ..models import Feed
from .common import answered_once, sent, studio_zone, today
from .tablet import sheets_words

SHOWN = 25


@require_http_methods(["GET", "HEAD", "POST"])
@house_page
def desk_sheets(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    bookings = list(queries.bookings_of(today(now), now))
    status = 200
    if request.method == "POST":
        form = DeskSheetsForm(request.POST, bookings=bookings, now=now)
        if form.is_valid():
            try:
                answer = answered_once(request, sent(request), now, lambda: _log(request, form, now))
            except Refused as refused:
                form.refuse(refused.refusal)
            else:
                messages.success(request, answer["words"])
                return redirect("desk_sheets")
        status = 422
    else:
        form = DeskSheetsForm(initial={"at": now, **request.GET.dict()}, bookings=bookings, now=now)
    context = {"form": form, "warnings": queries.spent_baths(now, zone=studio_zone()), **_logged(request, now)}
    return render(request, "chemistry/desk_sheets.html", context, status=status)


def _logged(request: HttpRequest, now: datetime) -> dict[str, Any]:
    """What was logged today, the latest 25 or all, and how many more there are."""
    feeds = list(queries.logged_today(today(now)))
    shown = feeds if request.GET.get("logged") == "all" else feeds[:SHOWN]
    lines = [{"feed": one, "late": _minute(one.fed_at) != _minute(one.recorded_at)} for one in shown]
    return {"logged": lines, "more": len(feeds) - len(shown)}


def _minute(moment: datetime) -> datetime:
    return moment.replace(second=0, microsecond=0)


@require_POST
@house_page
def desk_sheets_undo(request: HttpRequest, pk: int) -> HttpResponse:
    try:
        feed = queries.access_feed(pk)
    except Feed.DoesNotExist as missing:
        raise Http404 from missing
    try:
        actions.undo_sheets(feed=feed, now=timezone.now(), by=request.user)
    except Refused as refused:
        messages.error(request, str(say(refused.refusal)))
    else:
        messages.success(request, _("Taken back: %(what)s.") % {"what": sheets_words(feed)})
    return redirect("desk_sheets")


def _log(request: HttpRequest, form: DeskSheetsForm, now: datetime) -> dict[str, Any]:
    chosen = form.cleaned_data
    form.ask_again_about(chosen["at"], now)
    pk = booking_pk(chosen["who"])
    booking: Booking | None = queries.access_any_booking(pk) if pk else None
    feed = actions.log_sheets(
        processor=chosen["processor"],
        sheet=chosen["sheet"],
        sheets=chosen["sheets"],
        kind=chosen["kind"],
        who=Feed.Who.BOOKING if booking else chosen["who"],
        booking=booking,
        member=chosen["member"],
        paper=chosen.get("paper"),
        length_mm=chosen.get("length"),
        fed_at=chosen["at"],
        now=now,
        by=request.user,
    )
    return {"feed": feed.pk, "words": _("Logged %(what)s.") % {"what": sheets_words(feed)}}
