"""Calendars that read bookings: the private addresses, and the pages that make and revoke them.

The address of a feed is its own key: 256 bits that nobody can guess, of which only a hash is kept.  So wrong ones are
not counted: a count would be a write at somebody's mere asking, and calendar services ask for many people from one
network address, where one revoked link would lock out all the others.
"""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response
from django.utils.http import http_date
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from studiodesk.answers import Refusal, Refused
from studiodesk.bookings import actions, queries
from studiodesk.bookings.models import CalendarLink
from studiodesk.bookings.views.calendars import MEDIA_TYPE
from studiodesk.journal.actions import once
from studiodesk.people.access import member_page
from studiodesk.stations import queries as stations
from studiodesk.words import say

from ..forms import CalendarLinkForm

#: Where the address waits in its maker's session until the page has shown it, once.
FRESH = "calendar_link"


@require_safe
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    """For calendar programs: no log-in, the same answer for an address that never was and one that was revoked."""
    link, now = queries.link_of_token(token), timezone.now()
    if link is None or request.studio is None:
        raise Http404
    feed = queries.feed(link, request.studio, now)
    today = timezone.localdate(now)
    if link.last_used_on != today:
        actions.calendar_link_used(link=link, today=today)
    modified = int(feed.modified_at.timestamp())
    response = HttpResponse(feed.content, content_type=MEDIA_TYPE)
    response = get_conditional_response(request, etag=feed.etag, last_modified=modified, response=response)
    response["ETag"], response["Last-Modified"] = feed.etag, http_date(modified)
    response["Cache-Control"] = "private, no-cache"
    response["X-Robots-Tag"] = "noindex"
    return response


def _form(request: HttpRequest) -> CalendarLinkForm:
    many = list(stations.stations()) if request.user.is_staff else []
    return CalendarLinkForm(request.POST if request.method == "POST" else None, stations=many)


def _make(request: HttpRequest, form: CalendarLinkForm) -> Refusal | None:
    """A link whose address waits in the session; a second press of the button makes no second one."""
    now, station = timezone.now(), form.cleaned_data.get("station")
    body = {"station": station.code if station else ""}

    def work() -> dict[str, Any]:
        link, secret = actions.make_calendar_link(member=request.user, station=station, now=now, by=request.user)
        request.session[FRESH] = [link.pk, secret]
        return {"link": link.pk}

    try:
        once(key=request.POST.get("key", ""), asker=f"member {request.user.pk}", body=body, now=now, work=work)
    except Refused as refused:
        if not refused.refusal.code.startswith("bookings."):
            raise
        return refused.refusal
    return None


def _shown_once(request: HttpRequest) -> dict[str, Any] | None:
    """The address that was just made; it leaves the session with being shown."""
    if request.method != "GET" or FRESH not in request.session:
        return None
    pk, secret = request.session.pop(FRESH)
    try:
        link = queries.access_calendar_link(request.user, pk)
    except CalendarLink.DoesNotExist:
        return None
    address = request.build_absolute_uri(reverse("calendar_feed", args=[secret]))
    return {"link": link, "address": address, "opens": f"webcal://{address.partition('://')[2]}"}


@member_page
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def calendar_links(request: HttpRequest) -> HttpResponse:
    form, status = _form(request), 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            refusal = _make(request, form)
            if refusal is None:
                return redirect("calendar_links")
            form.add_error(None, str(say(refusal)))
            status = int(refusal.facts.get("status", 409))
    context = {"form": form, "links": queries.calendar_links(request.user), "fresh": _shown_once(request)}
    return render(request, "desk/calendar_links.html", context, status=status)


@member_page
@require_http_methods(["GET", "HEAD", "POST"])
def calendar_link_revoke(request: HttpRequest, pk: int) -> HttpResponse:
    """It cannot be taken back, so a page asks first."""
    try:
        link = queries.access_calendar_link(request.user, pk)
    except CalendarLink.DoesNotExist as missing:
        raise Http404 from missing
    if request.method != "POST":
        return render(request, "desk/calendar_link_revoke.html", {"link": link})
    actions.revoke_calendar_link(link=link, now=timezone.now(), by=request.user)
    messages.success(request, _("Revoked. A calendar that reads this address gets nothing any more."))
    return redirect("calendar_links")
