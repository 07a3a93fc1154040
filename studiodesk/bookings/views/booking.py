"""Book: what you will get, what comes along, and the button that books it."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from studiodesk.answers import Refusal, Refused
from studiodesk.journal.actions import once
from studiodesk.people.access import member_page
from studiodesk.timekeeping import Span
from studiodesk.words import say

from .. import actions, queries
from ..forms import BookAllForm, query_of
from .common import SOMEBODY_WAS_QUICKER, along, form_of
from .dates import book_url
from .waiting import need_at, wait_url

FIELDS = ("station", "process", "day", "begins", "until", "whom")
ALONG = ("guests", "adult_name", "override", "friend")


def _wish(form: BookAllForm) -> queries.Wanted:
    kit = tuple(sorted(form.kit_wanted.items(), key=lambda pair: pair[0].pk))
    return queries.Wanted(
        form.for_member, form.station_row, form.process_row, form.span, kit, form.guests_wanted, form.adult
    )


def _page(request: HttpRequest, form: BookAllForm, status: int = 200, refusal: Refusal | None = None) -> HttpResponse:
    """What you will get, the button that books it, and the fields to change it."""
    seen = None
    if form.core_is_valid:
        seen = queries.preview(_wish(form), now=timezone.now(), by=request.user)
    refusal = refusal or (seen.refusal if seen else None)
    context: dict[str, Any] = {"form": form, "seen": seen, "said": say(refusal) if refusal else None, "near": None}
    if seen is None:
        return render(request, "bookings/book.html", context | {"open": True}, status=status)
    context["along"] = along(form, seen, request.user)
    if refusal and refusal.code in SOMEBODY_WAS_QUICKER:
        context["near"] = _near(request, form)
    shut = not context["along"]["offered"] and not context["near"] and not seen.unread
    context["open"] = shut or not form.core_is_valid
    context["shown_times"] = None if refusal else seen.times
    context["fields"] = {name: form.data.get(name, "") for name in (*FIELDS, "friend") if form.data.get(name)}
    context["here"] = f"{reverse('book')}?{urlencode({**context['fields'], **dict(form.carried)})}"
    return render(request, "bookings/book.html", context, status=status)


def _near(request: HttpRequest, form: BookAllForm) -> dict[str, Any]:
    near = queries.near(
        station=form.station_row, process=form.process_row, span=form.span, now=timezone.now(), by=request.user
    )

    def rows(many: list[queries.FreeTime]) -> list[dict[str, Any]]:
        return [
            {"free": one, "url": book_url(one.station, form.process_row, Span(one.starts, one.ends), form.zone)}
            for one in many
        ]

    return {
        "same_time": rows(near.same_time),
        "same_station": rows(near.same_station),
        "wait_url": wait_url(need_at(form.station_row, form.process_row, form.span, form.zone)),
    }


def _taken(request: HttpRequest, form: BookAllForm, refusal: Refusal) -> HttpResponse:
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
        return _page(request, form_of(request, request.GET if "station" in request.GET else None))
    form = form_of(request, request.POST)
    if not form.is_valid():
        return _page(request, form, 422)
    wish, now = _wish(form), timezone.now()

    def work() -> dict[str, Any]:
        made = actions.book(
            member=wish.member,
            station=wish.station,
            process=wish.process,
            starts=wish.span.starts,
            ends=wish.span.ends,
            kit=dict(wish.kit),
            guests=wish.guests,
            adult_name=wish.adult_name,
            override=form.why,
            now=now,
            by=request.user,
        )
        return {"booking": made.pk}

    body = {name: request.POST.get(name, "") for name in FIELDS}
    # What was left empty is left out, so that a form from before kit was lent out still has the same answer.
    body |= {name: request.POST[name] for name in (*ALONG, *form.kit) if request.POST.get(name)}
    try:
        answer, replayed = once(
            key=request.POST.get("key", ""), asker=f"member {request.user.pk}", body=body, now=now, work=work
        )
    except Refused as refused:
        return _refused(request, form, refused.refusal)
    if not replayed:
        messages.success(request, _("Booked."))
    friend = request.POST.get("friend", "")
    there = reverse("booking", args=[answer["booking"]])
    return redirect(f"{there}?{urlencode({'friend': friend})}" if friend else there)


def _refused(request: HttpRequest, form: BookAllForm, refusal: Refusal) -> HttpResponse:
    """Taken has a page of its own; what can be put right in the form is said at its field."""
    if not refusal.code.startswith("bookings."):
        raise Refused(refusal)
    if refusal.code in SOMEBODY_WAS_QUICKER:
        return _taken(request, form, refusal)
    field = form.field_of(refusal)
    if field is not None:
        form.add_error(field, str(say(refusal)))
        return _page(request, form, 422)
    return _page(request, form, 409, refusal)
