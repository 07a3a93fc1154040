"""Setting a password: by a mailed link, when it was forgotten, or because one wants a new one."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from studiodesk.answers import Refusal, Refused
from studiodesk.words import say

from .. import actions, queries
from ..access import address_of, member_page
from ..forms import ChangePasswordForm, ForgottenForm, NewPasswordForm
from .sessions import begin_session, whole_minute


@require_http_methods(["GET", "HEAD", "POST"])
def password_forgotten(request: HttpRequest) -> HttpResponse:
    form = ForgottenForm(request.POST or None)
    status, sent = 200, False
    if request.method == "POST":
        status = 422
        if form.is_valid():
            address = address_of(request, behind_proxy=settings.HTTPS)
            try:
                actions.send_password_link(email=form.cleaned_data["email"], address=address, now=timezone.now())
                status, sent = 200, True
            except Refused as refused:
                until = whole_minute(refused.refusal.facts["until"])
                form.add_error(None, str(say(Refusal("people.wait", {"until": until}))))
                status = 429
    return render(request, "people/password_forgotten.html", {"form": form, "sent": sent}, status=status)


@sensitive_post_parameters("password")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def password_set(request: HttpRequest, who: str, token: str) -> HttpResponse:
    person = queries.member_of_link(who, token)
    if person is None:
        said = say(Refusal("people.link_is_over"))
        return render(request, "people/link_over.html", {"said": said}, status=410)
    form = NewPasswordForm(request.POST or None, person=person)
    if request.method == "POST" and form.is_valid():
        now = timezone.now()
        person = actions.password_by_link(who=who, token=token, password=form.cleaned_data["password"], now=now)
        begin_session(request, person, now)
        messages.success(request, _("Your password is set, and you are logged in."))
        return redirect("home")
    status = 422 if request.method == "POST" else 200
    return render(request, "people/password_set.html", {"form": form, "person": person}, status=status)


@member_page
@sensitive_post_parameters("password", "present")
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def password_change(request: HttpRequest) -> HttpResponse:
    form = ChangePasswordForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        now = timezone.now()
        person = actions.set_password(
            person=request.user, password=form.cleaned_data["password"], now=now, by=request.user
        )
        begin_session(request, person, now)
        messages.success(request, _("Your password is changed. You are logged out everywhere else."))
        return redirect("you")
    status = 422 if request.method == "POST" else 200
    return render(request, "people/password_change.html", {"form": form}, status=status)
