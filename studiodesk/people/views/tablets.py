"""Tablets: staff make a code, the tablet itself takes it."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from studiodesk.answers import Refusal, Refused
from studiodesk.words import say

from .. import actions, queries
from ..access import address_of, staff_page
from ..forms import CodeForm, TabletForm
from ..models import Tablet
from .sessions import whole_minute

#: As long as browsers keep any cookie.
COOKIE_LASTS_S = 400 * 24 * 3600


def _tablet(request: HttpRequest, pk: int) -> Tablet:
    try:
        return queries.access_tablet(request.user, pk)
    except Tablet.DoesNotExist as missing:
        raise Http404 from missing


def _show_code(request: HttpRequest, name: str, tablet: Tablet | None = None) -> HttpResponse:
    """Make a code and go to the page that shows it once; it waits in the session of who made it."""
    made, code = actions.invite_tablet(name=name, now=timezone.now(), by=request.user, tablet=tablet)
    request.session["tablet_code"] = [made.pk, code]
    return redirect("tablet_code", pk=made.pk)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def tablets(request: HttpRequest) -> HttpResponse:
    form = TabletForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            return _show_code(request, form.cleaned_data["name"])
        except Refused as refused:
            form.add_error("name", str(say(refused.refusal)))
    status = 422 if request.method == "POST" else 200
    return render(request, "people/tablets.html", {"form": form, "tablets": queries.tablets()}, status=status)


@staff_page
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def tablet_code(request: HttpRequest, pk: int) -> HttpResponse:
    tablet = _tablet(request, pk)
    if request.method == "POST":
        return _show_code(request, tablet.name, tablet)
    kept, code = request.session.get("tablet_code", [None, ""])
    code = code if kept == pk and queries.tablet_invited_by(code, timezone.now()) is not None else ""
    address = request.build_absolute_uri(reverse("tablet_enrol"))
    context = {"waiting": tablet, "code": code, "address": address, "link": f"{address}?code={code}"}
    return render(request, "people/tablet_code.html", context)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def tablet_revoke(request: HttpRequest, pk: int) -> HttpResponse:
    """It cannot be taken back, so a page asks first."""
    tablet = _tablet(request, pk)
    if request.method != "POST":
        return render(request, "people/tablet_revoke.html", {"going": tablet})
    actions.revoke_tablet(tablet=tablet, now=timezone.now(), by=request.user)
    messages.success(request, _("%(name)s can no longer be used.") % {"name": tablet.name})
    return redirect("tablets")


def _enrol(request: HttpRequest, code: str) -> tuple[str, Refusal | None]:
    """The new secret, or why there is none."""
    now, address = timezone.now(), address_of(request, behind_proxy=settings.HTTPS)
    until = queries.address_locked_until(code="people.code_failed", address=address, now=now)
    if until is not None:
        return "", Refusal("people.wait", {"until": whole_minute(until), "status": 429})
    try:
        return actions.enrol_tablet(code=code, now=now)[1], None
    except Refused as refused:
        actions.note_code_failure(address=address, now=now)
        return "", refused.refusal


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def tablet_enrol(request: HttpRequest) -> HttpResponse:
    form = CodeForm(request.POST or None, initial={"code": request.GET.get("code", "")[:20]})
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            secret, refusal = _enrol(request, form.cleaned_data["code"])
            if refusal is None:
                response = redirect("tablet")
                kept = {"httponly": True, "samesite": "Strict", "secure": settings.HTTPS, "path": "/"}
                response.set_cookie(queries.TABLET_COOKIE, secret, max_age=COOKIE_LASTS_S, **kept)
                return response
            form.add_error("code", str(say(refusal)))
            status = int(refusal.facts.get("status", 422))
    return render(request, "people/tablet_enrol.html", {"form": form}, status=status)
