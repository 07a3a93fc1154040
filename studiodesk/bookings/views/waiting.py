"""The waiting list: wait for something, see what one waits for, answer an offer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studiodesk.answers import Refusal, Refused
from studiodesk.journal.actions import once
from studiodesk.people.access import house_page, member_page
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Process, Station
from studiodesk.timekeeping import Span, studio_day
from studiodesk.words import say

from .. import actions, queries
from ..forms.waiting import FIELD_OF_WISH, WaitForm, need_of_text, text_of_need
from ..models import Booking, WaitingWish
from ..queries import waiting as waiting_queries
from ..queries.touching import grid_of
from ..rules.needs import Need
from ..words.waiting import also_words, days_words, need_line
from .dates import studio_of

FIELDS = ("need", "kind", "process", "length", "first_day", "last_day", "not_before", "not_after", "whom")


def wait_url(need: Need, days: int = 1) -> str:
    """Where one waits for this need: the form, filled in; ``days``: for how many if the need names no last day."""
    if need.first_day is not None and need.last_day is None:
        need = replace(need, last_day=need.first_day + timedelta(days=days - 1))
    return f"{reverse('wait')}?{urlencode({'need': text_of_need(need)})}"


def need_at(station: Station, process: Process | None, span: Span, zone: ZoneInfo) -> Need:
    """What somebody wanted who found this time taken: such a station at just this time."""
    starts, ends = span.starts.astimezone(zone), span.ends.astimezone(zone)
    return Need(
        kind=station.kind,
        process=process.code if process else "",
        length=int(span.length.total_seconds()) // 60,
        first_day=starts.date(),
        last_day=starts.date(),
        not_before=starts.hour * 60 + starts.minute,
        not_after=ends.hour * 60 + ends.minute,
    )


def _form(request: HttpRequest) -> WaitForm:
    studio = studio_of(request)
    many = list(stations.stations())
    processes = list({process.pk: process for one in many for process in one.processes.all()}.values())
    return WaitForm(
        request.POST if request.method == "POST" else None,
        stations=many,
        processes=processes,
        grid=grid_of(studio, request.user),
        today=studio_day(timezone.now(), stations.zone(studio)),
        by=request.user,
        need=None if request.method == "POST" else need_of_text(request.GET.get("need", "")),
    )


def _page(request: HttpRequest, form: WaitForm, status: int = 200, refusal: Refusal | None = None) -> HttpResponse:
    context: dict[str, Any] = {"form": form, "said": say(refusal) if refusal else None}
    context["also"] = also_words(form.carried)
    if refusal and refusal.code == "bookings.note_not_acknowledged" and form.for_member == request.user:
        context["unread"] = refusal.facts["processor_code"]
        context["here"] = wait_url(form.asked)
    return render(request, "bookings/wait.html", context, status=status)


@member_page
@require_http_methods(["GET", "HEAD", "POST"])
def wait(request: HttpRequest) -> HttpResponse:
    form = _form(request)
    if request.method != "POST":
        return _page(request, form)
    if not form.is_valid():
        return _page(request, form, 422)
    need, now = form.asked, timezone.now()

    def work() -> dict[str, Any]:
        made = actions.wait(
            member=form.for_member,
            need=need,
            first_day=form.cleaned_data["first_day"],
            last_day=form.cleaned_data["last_day"],
            now=now,
            by=request.user,
        )
        return {"wish": made.pk}

    body = {name: request.POST.get(name, "") for name in FIELDS}
    try:
        _answer, replayed = once(
            key=request.POST.get("key", ""), asker=f"member {request.user.pk}", body=body, now=now, work=work
        )
    except Refused as refused:
        return _refused(request, form, refused.refusal)
    if not replayed:
        messages.success(request, _("Kept. As soon as something frees, whoever waits first is told by letter."))
    return redirect("waiting" if form.for_member == request.user else "all_waiting")


def _refused(request: HttpRequest, form: WaitForm, refusal: Refusal) -> HttpResponse:
    if not refusal.code.startswith("bookings."):
        raise Refused(refusal)
    if refusal.code in FIELD_OF_WISH:
        form.add_error(FIELD_OF_WISH[refusal.code], str(say(refusal)))
        return _page(request, form, 422)
    return _page(request, form, 409, refusal)


def _rows(waited: list[waiting_queries.Waited]) -> list[dict[str, Any]]:
    return [
        {
            "waited": one,
            "what": need_line(one.need, one.process.name if one.process else one.need.kind.capitalize()),
            "days": days_words(one.need),
        }
        for one in waited
    ]


@member_page
@require_safe
def waiting(request: HttpRequest) -> HttpResponse:
    """What one waits for, with one's place, and what is kept."""
    now = timezone.now()
    rows = _rows(waiting_queries.waited_for_by(request.user, now))
    states = WaitingWish.State
    context = {
        "offered": [row for row in rows if row["waited"].offer is not None],
        "open": [row for row in rows if row["waited"].wish.state == states.WAITING],
        "ended": [row for row in rows if row["waited"].wish.state in {states.ENDED, states.SERVED}],
        "now": now,
    }
    return render(request, "bookings/waiting.html", context)


@house_page
@require_safe
def all_waiting(request: HttpRequest) -> HttpResponse:
    return render(request, "bookings/all_waiting.html", {"rows": _rows(waiting_queries.everybody_waiting())})


@member_page
@require_POST
def stop_waiting(request: HttpRequest, pk: int) -> HttpResponse:
    try:
        wish = waiting_queries.access_wish(request.user, pk)
    except WaitingWish.DoesNotExist as missing:
        raise Http404 from missing
    actions.stop_waiting(wish=wish, now=timezone.now(), by=request.user)
    messages.success(request, _("No longer on the waiting list."))
    return redirect("waiting" if wish.member_id == request.user.pk else "all_waiting")


def _answered(request: HttpRequest, pk: int, act: Callable[..., Booking], said: str) -> HttpResponse:
    """Answer what a booking was offered as; what was never offered has no answer, and is not there."""
    try:
        booking = queries.access_booking(request.user, pk)
    except Booking.DoesNotExist as missing:
        raise Http404 from missing
    offer = waiting_queries.offer_of(booking)
    if offer is None:
        raise Http404
    act(offer=offer, now=timezone.now(), by=request.user)
    messages.success(request, said)
    return redirect("booking", pk=booking.pk)


@member_page
@require_POST
def accept_offer(request: HttpRequest, pk: int) -> HttpResponse:
    return _answered(request, pk, actions.accept, _("Booked. A letter confirms it."))


@member_page
@require_POST
def decline_offer(request: HttpRequest, pk: int) -> HttpResponse:
    return _answered(request, pk, actions.decline, _("Given back. The place on the waiting list is kept."))
