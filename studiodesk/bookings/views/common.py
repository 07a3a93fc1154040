"""What the pages of booking and of changing share."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest, QueryDict
from django.utils import timezone

from studiodesk.stations import queries as stations
from studiodesk.timekeeping import Span, studio_day
from studiodesk.words import say

from .. import queries
from ..forms import BookAllForm
from ..models import Booking
from .dates import studio_of

#: Somebody else was quicker: the page that says what is free near it.
SOMEBODY_WAS_QUICKER = {
    "bookings.taken",
    "bookings.no_place",
    "bookings.light",
    "bookings.heads",
    "bookings.out_of_service",
    "bookings.processor_out_of_service",
}
#: What can be put right among the things that come along, while the time itself may be had.
OF_WHAT_COMES_ALONG = {"bookings.needs_adult", "bookings.too_many_guests"}


def form_of(request: HttpRequest, query: QueryDict | None, form: Any = BookAllForm, **more: Any) -> Any:
    """The form of a booking, filled in with what was sent."""
    studio = studio_of(request)
    many = list(stations.stations())
    processes = list({process.pk: process for one in many for process in one.processes.all()}.values())
    data, zone = None if query is None else query.dict(), stations.zone(studio)
    return form(
        data=data,
        stations=many,
        processes=processes,
        zone=zone,
        by=request.user,
        today=studio_day(timezone.now(), zone),
        kit=queries.lent_out(),
        **more,
    )


def mine(request: HttpRequest, pk: int) -> Booking:
    """The booking, if this person may see it."""
    try:
        return queries.access_booking(request.user, pk)
    except Booking.DoesNotExist as missing:
        raise Http404 from missing


def is_of_what_comes_along(code: str) -> bool:
    return code in OF_WHAT_COMES_ALONG or code.startswith("bookings.kit_")


def along(form: BookAllForm, seen: queries.Preview, by: Any, leaving_out: Booking | None = None) -> dict[str, Any]:
    """The fields of what comes along, as this preview asks them: kit with how much is free, guests, an adult, a reason.

    Empty where the time is not to be had whatever comes along.
    """
    refusal = seen.refusal
    overrides = by.is_staff and refusal is not None and refusal in seen.broken
    left = seen.otherwise if overrides else refusal
    if left is not None and not is_of_what_comes_along(left.code):
        return {"offered": False, "overrides": False}
    choices = queries.kit_choices(form.kit.values(), seen.station, seen.process, seen.span, leaving_out)
    names = {item.pk: name for name, item in form.kit.items()}
    fitting = {names[choice.item.pk]: choice for choice in choices}
    # What does not go with the station is shown only if it was asked, so that it can be left out.
    kit = [
        {"field": form[name], "choice": fitting.get(name)}
        for name in form.kit
        if name in fitting or form[name].data or form[name].errors
    ]
    fields = []
    if seen.guests or by.is_staff:
        fields.append(form["guests"])
    if seen.under_age or by.is_staff:
        fields.append(form["adult_name"])
    if overrides:
        fields.append(form["override"])
    return {
        "offered": True,
        "overrides": overrides,
        "kit": kit,
        "kit_asked": any(row["field"].data or row["field"].errors for row in kit),
        "fields": fields,
        "broken": [say(one) for one in seen.broken] if overrides else [],
    }


def span_of(booking: Booking) -> Span:
    return Span(booking.starts, booking.ends)
