"""The page about oneself."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from studiodesk.people.access import member_page

from .. import queries


@member_page
@require_safe
def you(request: HttpRequest) -> HttpResponse:
    standing = queries.standing_of(request.user, timezone.now())
    return render(request, "people/you.html", {"standing": standing})
