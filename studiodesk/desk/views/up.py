"""For machines that ask whether the site is up: no page, nobody's data."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from .. import queries


@never_cache
@require_safe
def up(request: HttpRequest) -> HttpResponse:
    """200 if the database answers; where it does not, ``errors.server_error`` answers 503."""
    queries.ask_database()
    return HttpResponse("up\n", content_type="text/plain; charset=utf-8")
