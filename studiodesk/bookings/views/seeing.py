"""One booking and all of mine; cancelling."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from studiodesk.people.access import member_page
from studiodesk.people.models import Member
from studiodesk.stations import queries as stations
from studiodesk.timekeeping import studio_day

from .. import actions, queries
from ..models import Booking
from ..rules import keeping
from ..words.cancelling import cancel_words
from .changing import one_tap
from .common import mine, span_of
from .dates import book_url, studio_of


def _friend(request: HttpRequest, row: Booking, zone: Any) -> dict[str, str] | None:
    """The address at which a friend books the station beside this one, for whoever just booked beside a friend."""
    code = request.GET.get("friend", "").replace("\x00", "")
    if not code or row.member_id != request.user.pk:
        return None
    station = stations.stations().filter(code=code, kind=row.station.kind).exclude(pk=row.station_id).first()
    if station is None:
        return None
    url = book_url(station, row.process, span_of(row), zone)
    return {"name": station.name, "url": f"{settings.SITE_ADDRESS.rstrip('/')}{url}"}


def _ways(row: Booking, now: datetime, by: Member) -> dict[str, Any]:
    """What can be done with the booking now, and what each means."""
    state = queries.state_of(row)
    house, yours = by.may_run_the_house, row.member_id == by.pk
    cancelling = queries.cancelling(row, now)
    may_cancel = keeping.may_cancel(state, now, runs_the_house=house) is None
    return {
        "may_cancel": may_cancel,
        "may_change": row.offered_until is None and keeping.may_change(state, now) is None,
        "cancelling": cancel_words(cancelling) if yours and may_cancel and row.offered_until is None else None,
        "undo": queries.undo_of(row, now, by, cancelling.notice_hours),
    }


@member_page
@require_safe
def booking(request: HttpRequest, pk: int) -> HttpResponse:
    row, now = mine(request, pk), timezone.now()
    studio = studio_of(request)
    by: Member = request.user
    zone, yours = stations.zone(studio), row.member_id == by.pk
    again = book_url(row.station, row.process, span_of(row), zone, "" if yours else row.member.number)
    ways = _ways(row, now, by)
    # What stands is not asked for a second time: the series goes on a week later.
    weekly = QueryDict(again.partition("?")[2], mutable=True)
    weekly_from = studio_day(row.starts, zone) + timedelta(days=0 if row.cancelled_at else 7)
    weekly["day"] = weekly_from.isoformat()
    context = {
        "booking": row,
        "on": studio_day(row.starts, zone),
        "yours": yours,
        "standing": keeping.standing(queries.state_of(row), now),
        "times": queries.printing_times(row.processor, span_of(row), studio),
        "is_unopened": row.cancelled_at is None and queries.is_unopened(row.processor, span_of(row), now, studio),
        "taken_along": queries.taken_along(row),
        "again_url": again if row.starts > now else None,
        "series_url": f"{reverse('series_new')}?{weekly.urlencode()}",
        "series_from": weekly_from,
        "friend": _friend(request, row, zone),
        "taps": one_tap(row, now, by, studio) if ways["may_change"] else [],
        **ways,
    }
    return render(request, "bookings/booking.html", context)


@member_page
@require_safe
def my_bookings(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    coming, gone = queries.coming_and_gone(request.user, now)
    context = {
        "kept": [one for one in coming if one.offered_until is not None],
        "coming": [one for one in coming if one.offered_until is None],
        "gone": [{"booking": one, "standing": keeping.standing(queries.state_of(one), now)} for one in gone],
    }
    return render(request, "bookings/my_bookings.html", context)


@member_page
@require_POST
def cancel_booking(request: HttpRequest, pk: int) -> HttpResponse:
    row = mine(request, pk)
    actions.cancel(booking=row, now=timezone.now(), by=request.user)
    messages.success(request, _("Cancelled. The time is free again."))
    return redirect("booking", pk=row.pk)
