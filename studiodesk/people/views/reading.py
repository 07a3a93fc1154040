"""Which language somebody reads, chosen at the foot of every page.  This browser keeps it, and a member's account."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone, translation
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from studiodesk.manner import LANGUAGES

from .. import actions


@require_POST
def reading(request: HttpRequest) -> HttpResponse:
    """Keep what was chosen, and go back to where it was chosen; what is no language of ours changes nothing."""
    language, back = request.POST.get("language", ""), request.POST.get("next", "")
    safe = back.startswith("/") and url_has_allowed_host_and_scheme(back, allowed_hosts=None)
    response = redirect(back if safe else "home")
    if language not in LANGUAGES:
        return response
    if request.user.is_authenticated:
        actions.set_language(person=request.user, language=language, now=timezone.now(), by=request.user)
    with translation.override(language):
        messages.success(request, _("These pages are in %(language)s from now on.") % {"language": LANGUAGES[language]})
    response.set_cookie(
        settings.LANGUAGE_COOKIE_NAME,
        language,
        max_age=settings.LANGUAGE_COOKIE_AGE,
        httponly=settings.LANGUAGE_COOKIE_HTTPONLY,
        samesite=settings.LANGUAGE_COOKIE_SAMESITE,
        secure=settings.LANGUAGE_COOKIE_SECURE,
    )
    return response
