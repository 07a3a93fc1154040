"""Who may open a page, written once: decorators for views, outermost first.

A stranger is sent to log in and comes back; somebody whose role is not enough gets a page that says whose it is.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django_htmx.http import HttpResponseClientRedirect

View = Callable[..., HttpResponse]


def _way_back(request: HttpRequest) -> str:
    """Where to go after logging in: what was looked at, without what only a form or a fragment asks."""
    if request.htmx:
        return str(request.htmx.current_url_abs_path or "/")
    return request.get_full_path() if request.method in {"GET", "HEAD"} else "/"


def _page_of(may: Callable[[Any], bool]) -> Callable[[View], View]:
    def decorate(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not request.user.is_authenticated:
                way = redirect_to_login(_way_back(request))
                # A fragment's place in the page is no place for a log-in form: the whole page goes there.
                return HttpResponseClientRedirect(way.url) if request.htmx else way
            if not may(request.user):
                raise PermissionDenied
            return view(request, *args, **kwargs)

        return guarded

    return decorate


member_page = _page_of(lambda member: member.is_active)
house_page = _page_of(lambda member: member.may_run_the_house)
shift_page = _page_of(lambda member: member.is_active and (member.is_keyholder or member.is_tutor or member.is_staff))
staff_page = _page_of(lambda member: member.is_active and member.is_staff)
#: Whoever may sign people off.
tutor_page = _page_of(lambda member: member.is_active and (member.is_tutor or member.is_staff))
manager_page = _page_of(lambda member: member.is_active and member.is_manager)


def address_of(request: HttpRequest, *, behind_proxy: bool) -> str:
    """The network address that asks.

    Behind a proxy the last of ``X-Forwarded-For`` is what the proxy itself saw; what stands before it is hearsay.
    """
    forwarded = request.headers.get("X-Forwarded-For", "")
    last = forwarded.rpartition(",")[2].strip()
    return last if behind_proxy and last else str(request.META.get("REMOTE_ADDR", ""))
