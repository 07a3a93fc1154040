"""Book, see, cancel."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studiodesk.answers import Refusal, Refused
from studiodesk.journal.actions import once
from studiodesk.people.access import member_page
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.timekeeping import Span, studio_day
from studiodesk.words import say

from .. import actions, queries
from ..forms import FIELD_OF, BookForm, query_of
from ..models import Booking
from ..rules import keeping
from .dates import book_url, studio_of

#: Somebody else was quicker: the page that says what is free near it.
SOMEBODY_WAS_QUICKER = {
    "bookings.taken",
    "bookings.no_place",
    "bookings.light",
    "bookings.heads",
    "bookings.out_of_service",
    "bookings.processor_out_of_service",
}
FIELDS = ("station", "process", "day", "begins", "until", "whom")


def _form(request: HttpRequest, query: QueryDict | None) -> BookForm:
    studio = studio_of(request)
    many = list(stations.stations())
    processes = list({process.pk: process for one in many for process in one.processes.all()}.values())
    data, zone = None if query is None else query.dict(), stations.zone(studio)
    today = studio_day(timezone.now(), zone)
    return BookForm(data=data, stations=many, processes=processes, zone=zone, by=request.user, today=today)


def _wish(form: BookForm, request: HttpRequest) -> dict[str, Any]:
    return {
        "member": form.for_member,
        "station": form.station_row,
        "process": form.process_row,
        "now": timezone.now(),
        "by": request.user,
    }


def _page(request: HttpRequest, form: BookForm, status: int = 200, refusal: Refusal | None = None) -> HttpResponse:
    """What you will get, the button that books it, and the fields to change it."""
    seen = None
    if form.is_bound and form.is_valid():
        seen = queries.preview(span=form.span, **_wish(form, request))
    refusal = refusal or (seen.refusal if seen else None)
    context: dict[str, Any] = {"form": form, "seen": seen, "said": say(refusal) if refusal else None, "near": None}
    if seen and refusal and refusal.code in SOMEBODY_WAS_QUICKER:
        context["near"] = _near(request, form)
    context["open"] = (
        seen is None or bool(form.errors) or (refusal is not None and not context["near"] and not seen.unread)
    )
    if seen:
        context["shown_times"] = None if refusal else seen.times
        context["fields"] = {name: form.data.get(name, "") for name in FIELDS if form.data.get(name)}
        context["here"] = f"{reverse('book')}?{urlencode(context['fields'])}"
    return render(request, "bookings/book.html", context, status=status)


def _near(request: HttpRequest, form: BookForm) -> dict[str, list[dict[str, Any]]]:
    near = queries.near(
        station=form.station_row, process=form.process_row, span=form.span, now=timezone.now(), by=request.user
    )

    def rows(many: list[queries.FreeTime]) -> list[dict[str, Any]]:
        return [
            {"free": one, "url": book_url(one.station, form.process_row, Span(one.starts, one.ends), form.zone)}
            for one in many
        ]

    return {"same_time": rows(near.same_time), "same_station": rows(near.same_station)}


def _taken(request: HttpRequest, form: BookForm, refusal: Refusal) -> HttpResponse:
    context = {
        "said": say(refusal),
        "refusal": refusal,
        "wish": {"station": form.station_row, "span": form.span},
        "near": _near(request, form),
        "here": f"{reverse('book')}?{urlencode(query_of(form.station_row, form.process_row, form.span, form.zone))}",
    }
    return render(request, "bookings/taken.html", context, status=409)


@member_page
@require_http_methods(["GET", "HEAD", "POST"])
def book(request: HttpRequest) -> HttpResponse:
    if request.method != "POST":
        return _page(request, _form(request, request.GET if "station" in request.GET else None))
    form = _form(request, request.POST)
    if not form.is_valid():
        return _page(request, form, 422)
    wish = _wish(form, request)

    def work() -> dict[str, Any]:
        made = actions.book(starts=form.span.starts, ends=form.span.ends, **wish)
        return {"booking": made.pk}

    body = {name: request.POST.get(name, "") for name in FIELDS}
    try:
        answer, replayed = once(
            key=request.POST.get("key", ""), asker=f"member {request.user.pk}", body=body, now=wish["now"], work=work
        )
    except Refused as refused:
        return _refused(request, form, refused.refusal)
    if not replayed:
        messages.success(request, _("Booked."))
    return redirect("booking", pk=answer["booking"])


def _refused(request: HttpRequest, form: BookForm, refusal: Refusal) -> HttpResponse:
    """Taken has a page of its own; what can be put right in the form is said at its field."""
    if not refusal.code.startswith("bookings."):
        raise Refused(refusal)
    if refusal.code in SOMEBODY_WAS_QUICKER:
        return _taken(request, form, refusal)
    if refusal.code in FIELD_OF:
        form.add_error(FIELD_OF[refusal.code], str(say(refusal)))
        return _page(request, form, 422)
    return _page(request, form, 409, refusal)


def _mine(request: HttpRequest, pk: int) -> Booking:
    try:
        return queries.access_booking(request.user, pk)
    except Booking.DoesNotExist as missing:
        raise Http404 from missing


def _state(booking: Booking) -> keeping.State:
    return keeping.State(booking.starts, booking.ends, booking.cancelled_at, booking.arrived_at, booking.left_at)


@member_page
@require_safe
def booking(request: HttpRequest, pk: int) -> HttpResponse:
    row, now = _mine(request, pk), timezone.now()
    studio = studio_of(request)
    by: Member = request.user
    span, zone, yours = Span(row.starts, row.ends), stations.zone(studio), row.member_id == by.pk
    again = book_url(row.station, row.process, span, zone, "" if yours else row.member.number)
    context = {
        "booking": row,
        "on": studio_day(row.starts, zone),
        "yours": yours,
        "standing": keeping.standing(_state(row), now),
        "may_cancel": keeping.may_cancel(_state(row), now, runs_the_house=by.may_run_the_house) is None,
        "times": queries.printing_times(row.processor, span, studio),
        "again_url": again if row.starts > now else None,
    }
    return render(request, "bookings/booking.html", context)


@member_page
@require_safe
def my_bookings(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    coming, gone = queries.coming_and_gone(request.user, now)
    context = {
        "coming": [
            {"booking": one, "may_cancel": keeping.may_cancel(_state(one), now, runs_the_house=False) is None}
            for one in coming
        ],
        "gone": [{"booking": one, "standing": keeping.standing(_state(one), now)} for one in gone],
    }
    return render(request, "bookings/my_bookings.html", context)


@member_page
@require_POST
def cancel_booking(request: HttpRequest, pk: int) -> HttpResponse:
    row = _mine(request, pk)
    actions.cancel(booking=row, now=timezone.now(), by=request.user)
    messages.success(request, _("Cancelled. The time is free again."))
    return redirect("booking", pk=row.pk)
