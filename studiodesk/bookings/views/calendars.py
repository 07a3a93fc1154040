"""One booking as a file that a calendar takes in."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from studiodesk.people.access import member_page

from .. import queries
from ..models import Booking
from .dates import studio_of

#: RFC 5545, 8.1
MEDIA_TYPE = "text/calendar; charset=utf-8"


@member_page
@require_safe
def booking_calendar(request: HttpRequest, pk: int) -> HttpResponse:
    try:
        booking = queries.access_booking(request.user, pk)
    except Booking.DoesNotExist as missing:
        raise Http404 from missing
    response = HttpResponse(queries.calendar_file([booking], studio_of(request)), content_type=MEDIA_TYPE)
    response["Content-Disposition"] = f'attachment; filename="booking-{booking.pk}.ics"'
    response["Cache-Control"] = "private, no-cache"
    return response
