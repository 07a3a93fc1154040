"""The pages for what went wrong: each says what happened and what to do next."""

import sys
from typing import Any

from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template import loader
from django.urls import Resolver404, resolve

from studiodesk.acts import Busy, is_away
from studiodesk.answers import Refusal
from studiodesk.words import say

#: Codes whose cause is somebody else's earlier act: the same question may be answered differently later.
CONFLICT = 409
WRONG_INPUT = 422


def refused(request: HttpRequest, refusal: Refusal) -> HttpResponse:
    """The refusal as a page: 409, or the status that the refusal names."""
    status = int(refusal.facts.get("status", CONFLICT))
    name = "422.html" if status == WRONG_INPUT else "409.html"
    return render(request, name, {"said": say(refusal), "refusal": refusal}, status=status)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "400.html", status=400)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "403.html", status=403)


def csrf_failed(request: HttpRequest, reason: str = "", **kwargs: Any) -> HttpResponse:
    return render(request, "403.html", {"form_expired": True}, status=403)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    return render(request, "404.html", status=404)


def not_allowed(request: HttpRequest, allowed: str) -> HttpResponse:
    """Somebody opened what a button sends to: the nearest page above it has the button."""
    response = render(request, "405.html", {"way": _page_above(request.path)}, status=405)
    response["Allow"] = allowed
    return response


def _page_above(path: str) -> str:
    while path.strip("/"):
        path = path.rstrip("/").rpartition("/")[0] + "/"
        try:
            resolve(path)
        except Resolver404:
            continue
        return path
    return "/"


def will_pass(fault: BaseException | None) -> bool:
    """The database is stopped or stays busy: to be said as a 503 that tells when to come back, not as a fault."""
    return isinstance(fault, Busy) or (isinstance(fault, (OperationalError, InterfaceError)) and is_away(fault))


def server_error(request: HttpRequest) -> HttpResponse:
    """Rendered without context processors: the database may be what broke.

    Django turns what is raised in a middleware into this page at once, so no middleware further out sees it.
    """
    if will_pass(sys.exception()):
        return unavailable(request)
    return HttpResponse(loader.get_template("500.html").render({}), status=500)


def unavailable(request: HttpRequest) -> HttpResponse:
    response = HttpResponse(loader.get_template("503.html").render({}), status=503)
    response["Retry-After"] = "5"
    return response
