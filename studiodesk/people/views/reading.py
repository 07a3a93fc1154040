"""How somebody reads these pages: the language.  This browser keeps it, and a member's account as well."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from studiodesk.manner import LANGUAGES

from .. import actions


@require_http_methods(["GET", "HEAD", "POST"])
def reading(request: HttpRequest) -> HttpResponse:
    if request.method != "POST":
        return _drawn(request)
    language = request.POST.get("language", "")
    if language not in LANGUAGES:
        return _drawn(request, status=422)
    if request.user.is_authenticated:
        actions.set_language(person=request.user, language=language, now=timezone.now(), by=request.user)
    with translation.override(language):
        messages.success(request, _("These pages are in %(language)s from now on.") % {"language": LANGUAGES[language]})
    response = redirect("reading")
    response.set_cookie(
        settings.LANGUAGE_COOKIE_NAME,
        language,
        max_age=settings.LANGUAGE_COOKIE_AGE,
        httponly=settings.LANGUAGE_COOKIE_HTTPONLY,
        samesite=settings.LANGUAGE_COOKIE_SAMESITE,
        secure=settings.LANGUAGE_COOKIE_SECURE,
    )
    return response


def _drawn(request: HttpRequest, *, status: int = 200) -> HttpResponse:
    here = translation.get_language()
    languages = [(code, name, code == here) for code, name in LANGUAGES.items()]
    return render(request, "people/reading.html", {"languages": languages}, status=status)
