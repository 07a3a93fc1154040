"""What was tested so that everybody can use the site, what was not, and whom to tell: for everybody."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from studiodesk.accessibility import CHECKS, LIMITS, LOOKED_AT, NOT_YET


@require_safe
def accessibility(request: HttpRequest) -> HttpResponse:
    context = {
        "checks": [check.says for check in CHECKS],
        "looked_at": LOOKED_AT,
        "not_yet": NOT_YET,
        "limits": LIMITS,
    }
    return render(request, "desk/accessibility.html", context)
