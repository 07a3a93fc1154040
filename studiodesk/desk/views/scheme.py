"""Light or dark, chosen at the foot of every page by anybody."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from studiodesk.scheme import SCHEME_COOKIE, SCHEMES

A_YEAR_S = 365 * 24 * 3600


@require_POST
def look_choose(request: HttpRequest) -> HttpResponse:
    """Keep what was chosen in this browser, and go back to where it was chosen."""
    chosen, back = request.POST.get("scheme", ""), request.POST.get("next", "")
    # No host is allowed, so that only an address of this site is gone to.
    safe = back.startswith("/") and url_has_allowed_host_and_scheme(back, allowed_hosts=None)
    response = HttpResponseRedirect(back if safe else reverse("home"))
    if chosen in SCHEMES:
        response.set_cookie(
            SCHEME_COOKIE, chosen, max_age=A_YEAR_S, httponly=True, samesite="Lax", secure=request.is_secure()
        )
    else:
        response.delete_cookie(SCHEME_COOKIE, samesite="Lax")
    return response
