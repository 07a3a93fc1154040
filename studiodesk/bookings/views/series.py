"""Book the same time every so many weeks; change and cancel this one, the following, or all."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from studiodesk.answers import Refusal, Refused
from studiodesk.dates import written
from studiodesk.journal.actions import once
from studiodesk.people.access import member_page
from studiodesk.stations import queries as stations
from studiodesk.timekeeping import Span, studio_day
from studiodesk.words import say

from .. import actions, queries
from ..forms import SeriesForm, SeriesTimeForm, clash_field, option_value, read_choices, scope_choices
from ..models import Booking
from ..rules.series import SCOPES, Clash
from .dates import studio_of

FIELDS = ("station", "process", "day", "begins", "until", "whom", "every", "last_day")


def _form(request: HttpRequest, data: dict[str, str] | None) -> SeriesForm:
    many = list(stations.stations())
    processes = list({process.pk: process for one in many for process in one.processes.all()}.values())
    zone = stations.zone(studio_of(request))
    today = studio_day(timezone.now(), zone)
    return SeriesForm(data=data, stations=many, processes=processes, zone=zone, by=request.user, today=today)


def _clashes(clashes: list[Clash], booking: Any, request: HttpRequest) -> list[dict[str, Any]]:
    """Each with its reason and what is free near it: other stations at the time, this one at other times that day."""
    now, out = timezone.now(), []
    for clash in clashes:
        near = queries.near(station=booking.station, process=booking.process, span=clash.span, now=now, by=request.user)
        options = [
            {"value": option_value(free.station, Span(free.starts, free.ends)), "free": free}
            for free in [*near.same_time, *near.same_station][:4]
        ]
        row = {"clash": clash, "said": say(clash.refusal), "field": clash_field(clash.day), "options": options}
        out.append(row)
    return out


@member_page
@require_http_methods(["GET", "HEAD", "POST"])
def series_new(request: HttpRequest) -> HttpResponse:
    if request.method != "POST":
        given = {name: request.GET[name] for name in FIELDS if name in request.GET}
        form = _form(request, None)
        form.initial = {**given, "every": 1}
        return render(request, "bookings/series_new.html", {"form": form})
    form = _form(request, request.POST.dict())
    if not form.is_valid():
        return render(request, "bookings/series_new.html", {"form": form}, status=422)
    out, instead = read_choices(request.POST, form.stations)
    now = timezone.now()

    def work() -> dict[str, Any]:
        made = actions.book_series(
            member=form.for_member,
            station=form.station_row,
            process=form.process_row,
            of=form.recurrence,
            now=now,
            by=request.user,
            skip=out,
            elsewhere={day: actions.Elsewhere(*other) for day, other in instead.items()},
        )
        return {
            "first": made.bookings[0].pk,
            "count": len(made.bookings),
            "shifted": [day.isoformat() for day in made.shifted],
        }

    body = {name: request.POST[name] for name in sorted(request.POST) if name != "csrfmiddlewaretoken"}
    try:
        answer, replayed = once(
            key=request.POST.get("key", ""), asker=f"member {request.user.pk}", body=body, now=now, work=work
        )
    except Refused as refused:
        return _not_booked(request, form, refused.refusal)
    if not replayed:
        _say_booked(request, answer)
    return redirect("series", pk=answer["first"])


def _say_booked(request: HttpRequest, answer: dict[str, Any]) -> None:
    count = answer["count"]
    words = ngettext("Booked: %(count)s time.", "Booked: %(count)s times.", count) % {"count": count}
    messages.success(request, words)
    if answer["shifted"]:
        messages.warning(
            request,
            _("On %(days)s the clock jumps over that time: it begins an hour later by the clock.")
            % {"days": ", ".join(answer["shifted"])},
        )


def _not_booked(request: HttpRequest, form: SeriesForm, refusal: Refusal) -> HttpResponse:
    if not refusal.code.startswith("bookings."):
        raise Refused(refusal)
    wanted = queries.Wanted(form.for_member, form.station_row, form.process_row, form.span)
    clashes = _clashes(refusal.facts.get("clashes", []), wanted, request)
    asked_again = {row["field"] for row in clashes}
    context = {
        "form": form,
        "said": say(refusal),
        "clashes": clashes,
        # What was answered before and fits stays answered.
        "kept": {n: v for n, v in request.POST.items() if n.startswith("clash-") and n not in asked_again},
        "fields": {name: request.POST.get(name, "") for name in FIELDS if request.POST.get(name)},
    }
    return render(request, "bookings/series_new.html", context, status=409)


def _mine(request: HttpRequest, pk: int) -> Booking:
    try:
        row = queries.access_booking(request.user, pk)
    except Booking.DoesNotExist as missing:
        raise Http404 from missing
    if row.series_id is None:
        raise Http404
    return row


def _time_form(request: HttpRequest, row: Booking, data: QueryDict | None) -> SeriesTimeForm:
    alike = [one for one in stations.stations_of_kind(row.station.kind) if one.pk != row.station_id]
    return SeriesTimeForm(data, booking=row, stations=alike, zone=stations.zone(studio_of(request)))


def _page(request: HttpRequest, row: Booking, form: SeriesTimeForm, status: int = 200, **more: Any) -> HttpResponse:
    now = timezone.now()
    context = {
        "booking": row,
        "yours": row.member_id == request.user.pk,
        "coming": queries.still_to_come(row.series, now),
        "form": form,
        "scopes": scope_choices(),
        **more,
    }
    return render(request, "bookings/series.html", context, status=status)


@member_page
@require_http_methods(["GET", "HEAD", "POST"])
def series(request: HttpRequest, pk: int) -> HttpResponse:
    """All of them, seen from one; a POST changes their time or station."""
    row = _mine(request, pk)
    if request.method != "POST":
        return _page(request, row, _time_form(request, row, None))
    form = _time_form(request, row, request.POST)
    if not form.is_valid():
        return _page(request, row, form, 422)
    out, _instead = read_choices(request.POST, {})
    given = form.cleaned_data
    changes: dict[str, Any] = {name: given[name] for name in ("begins_minute", "length") if name in given}
    if form.station_row is not None:
        changes["station"] = form.station_row
    if not changes:
        form.add_error(None, _("Say what is to be other than it is."))
        return _page(request, row, form, 422)
    try:
        changed = actions.change_series(
            booking=row, scope=form.cleaned_data["scope"], now=timezone.now(), by=request.user, skip=out, **changes
        )
    except Refused as refused:
        refusal = refused.refusal
        if not refusal.code.startswith("bookings."):
            raise
        clashes = [
            {"clash": clash, "said": say(clash.refusal), "field": clash_field(clash.day), "options": []}
            for clash in refusal.facts.get("clashes", [])
        ]
        return _page(request, row, form, 409, said=say(refusal), clashes=clashes)
    count = len(changed)
    words = ngettext("Changed: %(count)s.", "Changed: %(count)s.", count) % {"count": count}
    messages.success(request, words if count else _("Nothing was changed."))
    return redirect("series", pk=row.pk)


@member_page
@require_POST
def cancel_series(request: HttpRequest, pk: int) -> HttpResponse:
    row = _mine(request, pk)
    scope = request.POST.get("scope", "")
    if scope not in SCOPES:
        form = _time_form(request, row, None)
        return _page(request, row, form, 422, said=_("Say which of them are to be cancelled."))
    gone = actions.cancel_series(booking=row, scope=scope, now=timezone.now(), by=request.user)
    days = ", ".join(written(timezone.localtime(one.starts), "j F") for one in gone)
    messages.success(request, _("Cancelled: %(days)s. The times are free again.") % {"days": days})
    return redirect("booking", pk=row.pk)
