"""Change a booking: another time, station, process, kit; and take the last change back."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from studiodesk.answers import Refusal, Refused
from studiodesk.dates import clock
from studiodesk.journal.actions import once
from studiodesk.people.access import member_page
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Studio
from studiodesk.timekeeping import Span
from studiodesk.words import length_words, say

from .. import actions, queries
from ..actions import New
from ..forms import ChangeForm, kit_name, query_of
from ..models import Booking
from ..queries.touching import grid_of
from ..rules import keeping
from ..rules.asking import next_on_grid
from .common import SOMEBODY_WAS_QUICKER, along, form_of, mine, span_of
from .dates import studio_of

#: From so long before it begins a booking has the buttons that change it with one press.
SOON = timedelta(hours=12)
HALF_AN_HOUR = timedelta(minutes=30)
FIELDS = ("station", "process", "day", "begins", "until", "guests", "adult_name", "override", "reason", "seq")


def one_tap(row: Booking, now: datetime, by: Member, studio: Studio) -> list[dict[str, Any]]:
    """The buttons that make a booking of today longer or shorter: the label, and the fields that each sends."""
    if now < row.starts - SOON:
        return []
    zone, grid = stations.zone(studio), grid_of(studio, by)
    as_is = {**query_of(row.station, row.process, span_of(row), zone), "seq": str(row.sequence)}

    def until(ends: datetime) -> dict[str, str]:
        local = ends.astimezone(zone)
        return {**as_is, "until": f"{local:%H:%M}"}

    taps = [
        {"label": _("%(length)s longer") % {"length": length_words(more)}, "fields": until(row.ends + more)}
        for more in queries.can_be_longer(row, now, by)
    ]
    if row.starts < now:
        ends = max(next_on_grid(now, grid, zone), next_on_grid(row.starts + grid, grid, zone))
        if ends < row.ends:
            said = _("End now: until %(at)s") % {"at": clock(ends.astimezone(zone))}
            taps.append({"label": said, "fields": until(ends)})
    elif row.ends - HALF_AN_HOUR - row.starts >= max(grid, HALF_AN_HOUR):
        said = _("%(length)s shorter") % {"length": length_words(HALF_AN_HOUR)}
        taps.append({"label": said, "fields": until(row.ends - HALF_AN_HOUR)})
    return taps


def _form(request: HttpRequest, row: Booking, query: QueryDict | None) -> ChangeForm:
    """Filled in with what was sent; what was not sent is as the booking has it."""
    kit = {kit_name(item): str(pieces) for item, pieces in queries.kit_of(row)}
    if query is not None:
        as_is = {"guests": str(row.guests or ""), "adult_name": row.adult_name, **kit}
        if request.method != "POST":
            as_is["seq"] = str(row.sequence)
        sent, query = query, query.copy()
        query.update({name: value for name, value in as_is.items() if name not in sent})
    form: ChangeForm = form_of(request, query, ChangeForm, booking=row)
    if not form.is_bound:
        form.initial |= kit
    return form


def _wanted(form: ChangeForm, row: Booking) -> queries.Wanted:
    return queries.Wanted(
        member=row.member,
        station=form.station_row,
        process=form.process_row,
        span=form.span,
        kit=tuple(sorted(form.kit_wanted.items(), key=lambda pair: pair[0].pk)),
        guests=form.guests_wanted,
        adult_name=form.adult,
        instead_of=row,
    )


def _page(
    request: HttpRequest, row: Booking, form: ChangeForm, status: int = 200, refusal: Refusal | None = None
) -> HttpResponse:
    """The booking as it stands, as it would be, and the button that changes it; or the fields."""
    now = timezone.now()
    seen = queries.preview(_wanted(form, row), now=now, by=request.user) if form.core_is_valid else None
    refusal = refusal or (seen.refusal if seen else None)
    context: dict[str, Any] = {
        "booking": row,
        "yours": row.member_id == request.user.pk,
        "form": form,
        "seen": seen,
        "said": say(refusal) if refusal else None,
        "near": None,
        "swaps": [] if seen else _swaps(request, row, now),
        "refused": status >= 400,
    }
    if seen is not None:
        context["along"] = along(form, seen, request.user, row)
        if "reason" in form.fields and context["along"]["offered"]:
            context["along"]["fields"].append(form["reason"])
        if refusal and refusal.code in SOMEBODY_WAS_QUICKER:
            context["near"] = _near(request, row, form)
        context["shown_times"] = None if refusal else seen.times
        context["fields"] = [(name, form.data[name]) for name in FIELDS[:5] if form.data.get(name)]
    context["open"] = seen is None or not (context["along"]["offered"] or context["near"])
    return render(request, "bookings/change.html", context, status=status)


def _swaps(request: HttpRequest, row: Booking, now: datetime) -> list[dict[str, Any]]:
    """Equal stations that are free at the same time, each with the fields of the button that swaps to it."""
    zone = stations.zone(studio_of(request))
    return [
        {
            "station": station,
            "note": queries.note_of(station),
            "fields": {**query_of(station, row.process, span_of(row), zone), "seq": str(row.sequence)},
        }
        for station in queries.swaps(row, now)
    ]


def _near(request: HttpRequest, row: Booking, form: ChangeForm) -> dict[str, Any]:
    """What is free near it, as if this booking were not there; each leads to the change that would take it."""
    near = queries.near(
        station=form.station_row,
        process=form.process_row,
        span=form.span,
        now=timezone.now(),
        by=request.user,
        leaving_out=row,
    )
    here = reverse("change_booking", args=[row.pk])
    kept = dict(form.carried)

    def rows(many: list[queries.FreeTime]) -> list[dict[str, Any]]:
        return [
            {
                "free": one,
                "url": f"{here}?{urlencode({**_asked(one, form), **kept, 'seq': row.sequence})}",
            }
            for one in many
        ]

    return {"same_time": rows(near.same_time), "same_station": rows(near.same_station)}


def _asked(one: queries.FreeTime, form: ChangeForm) -> dict[str, str]:
    return query_of(one.station, form.process_row, Span(one.starts, one.ends), form.zone)


@member_page
@require_http_methods(["GET", "HEAD", "POST"])
def change_booking(request: HttpRequest, pk: int) -> HttpResponse:
    row, now = mine(request, pk), timezone.now()
    standing = keeping.may_change(queries.state_of(row), now)
    if request.method != "POST":
        if standing is not None:
            raise Refused(standing)
        return _page(request, row, _form(request, row, request.GET if "station" in request.GET else None))
    form = _form(request, row, request.POST)
    if not form.is_valid():
        return _page(request, row, form, 422)
    wish = _wanted(form, row)

    def work() -> dict[str, Any]:
        before = row.sequence
        made = actions.change(
            booking=row,
            new=New(
                station=wish.station,
                process=wish.process,
                starts=wish.span.starts,
                ends=wish.span.ends,
                kit=dict(wish.kit),
                guests=wish.guests,
                adult_name=wish.adult_name,
            ),
            now=now,
            by=request.user,
            override=form.why,
            reason=form.cleaned_data.get("reason", ""),
            seq=form.cleaned_data.get("seq"),
        )
        return {"booking": made.pk, "changed": made.sequence != before}

    body = {name: request.POST.get(name, "") for name in FIELDS}
    body |= {name: request.POST[name] for name in form.kit if name in request.POST}
    asker = f"member {request.user.pk} changes {row.pk}"
    try:
        answer, replayed = once(key=request.POST.get("key", ""), asker=asker, body=body, now=now, work=work)
    except Refused as refused:
        return _refused(request, row, form, refused.refusal)
    if not replayed:
        messages.success(request, _("Changed.") if answer["changed"] else _("Nothing was changed."))
    return redirect("booking", pk=row.pk)


def _refused(request: HttpRequest, row: Booking, form: ChangeForm, refusal: Refusal) -> HttpResponse:
    """The booking stands as it stood, and the page says so; what can be put right is said at its field."""
    if not refusal.code.startswith("bookings."):
        raise Refused(refusal)
    if refusal.code == "bookings.changed_meanwhile":
        return _meanwhile(request, mine(request, row.pk), refusal)
    field = form.field_of(refusal)
    if field is not None:
        form.add_error(field, str(say(refusal)))
        return _page(request, row, form, 422)
    return _page(request, row, form, 409, refusal)


def _meanwhile(request: HttpRequest, row: Booking, refusal: Refusal) -> HttpResponse:
    """The booking as it is by now, to be changed from there, or why it cannot be any more."""
    standing = keeping.may_change(queries.state_of(row), timezone.now())
    if standing is not None:
        raise Refused(standing)
    return _page(request, row, _form(request, row, None), 409, refusal)


@member_page
@require_POST
def undo_change(request: HttpRequest, pk: int) -> HttpResponse:
    row, seq = mine(request, pk), request.POST.get("seq", "")
    shown = int(seq) if seq.isascii() and seq.isdigit() and len(seq) < 10 else None
    actions.undo_last_change(booking=row, now=timezone.now(), by=request.user, seq=shown)
    messages.success(request, _("Taken back: the booking is as it was before."))
    return redirect("booking", pk=row.pk)
