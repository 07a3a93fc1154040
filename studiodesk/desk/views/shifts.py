"""Calling a shift off: here, because what is asked before speaks of bookings."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from studiodesk.people.access import staff_page
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Shift

from .. import actions, queries
from ..words import called_off_words


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def shift_call_off(request: HttpRequest, pk: int) -> HttpResponse:
    """A page asks first, and says what is booked in that time.  POST ``cancel`` 1 cancels that too."""
    try:
        shift = stations.access_shift(request.user, pk)
    except Shift.DoesNotExist as missing:
        raise Http404 from missing
    if request.method != "POST":
        inside = queries.bookings_in(shift, request.studio)
        return render(request, "desk/shift_call_off.html", {"shift": shift, "inside": inside})
    cancel = request.POST.get("cancel") == "1"
    count = actions.call_off_shift(shift=shift, cancel_bookings=cancel, now=timezone.now(), by=request.user)
    messages.success(request, called_off_words(count))
    return redirect("shift", pk=shift.pk)
