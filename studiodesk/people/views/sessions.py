"""Logging in and out."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.conf import settings
from django.contrib import auth, messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from studiodesk.answers import Refusal
from studiodesk.words import say

from .. import actions, queries, rules
from ..access import address_of
from ..forms import LogInForm
from ..models import Member


def whole_minute(until: datetime) -> datetime:
    """The first full minute at which the wait is over, for a sentence that names no seconds."""
    floor = until.replace(second=0, microsecond=0)
    return until if until == floor else floor + timedelta(minutes=1)


def begin_session(request: HttpRequest, person: Member, now: datetime) -> None:
    """A new session under a new name, as long as this person's may be."""
    auth.login(request, person, backend=settings.AUTHENTICATION_BACKENDS[0])
    whole, _idle = queries.idle_limits(person)
    request.session["began"] = request.session["seen"] = int(now.timestamp())
    request.session.set_expiry(int(whole.total_seconds()))


def _refusal(request: HttpRequest, email: str, password: str, now: datetime) -> Refusal | None:
    """Log in, or say why not: the same words and the same work whether there is such a person or not."""
    address = address_of(request, behind_proxy=settings.HTTPS)
    until = queries.locked_until(email=email, address=address, now=now)
    if until is not None:
        return Refusal("people.wait", {"until": whole_minute(until)})
    person = auth.authenticate(request, username=email, password=password)
    if not isinstance(person, Member):
        actions.note_failure(email=email, address=address, now=now)
        return Refusal("people.log_in_failed")
    begin_session(request, person, now)
    actions.note_log_in(person=person, now=now)
    return None


@sensitive_post_parameters("password")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def log_in(request: HttpRequest) -> HttpResponse:
    way = request.POST.get("next") or request.GET.get("next") or ""
    way = way if rules.is_local_path(way) else ""
    if request.user.is_authenticated:
        return redirect(way or "home")
    form = LogInForm(request.POST or None)
    status = 200
    if request.method == "POST":
        status = 422
        if form.is_valid():
            refusal = _refusal(request, form.cleaned_data["email"], form.cleaned_data["password"], timezone.now())
            if refusal is None:
                return redirect(way or "home")
            form.add_error(None, str(say(refusal)))
            status = 429 if refusal.code == "people.wait" else 422
    return render(request, "people/log_in.html", {"form": form, "next": way}, status=status)


@require_POST
def log_out(request: HttpRequest) -> HttpResponse:
    auth.logout(request)
    messages.success(request, _("You are logged out."))
    return redirect("home")
