"""Signs to print, one a sheet: which there are, ticked, and the sheets themselves."""

from __future__ import annotations

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from studiodesk.people.access import staff_page

from .. import queries
from ..queries import signs as reads

GROUPS = {
    reads.FRONT_DOOR: _("At the front door"),
    reads.EMERGENCY: _("In an emergency"),
    reads.STATION: _("At the stations"),
    reads.PROCESSOR: _("At the processors"),
    reads.DRY_END: _("At the dry end"),
    reads.WASTE: _("On the waste containers"),
    reads.TABLET: _("Beside the tablet"),
}


def _signs() -> list[queries.Sign]:
    return queries.all_signs(settings.SITE_ADDRESS.rstrip("/") + reverse("door"))


@staff_page
@require_safe
def signs(request: HttpRequest) -> HttpResponse:
    """Every sign there is, to tick."""
    found = _signs()
    groups = [(title, [one for one in found if one.sort == sort]) for sort, title in GROUPS.items()]
    return render(request, "desk/signs/choose.html", {"groups": [(title, of) for title, of in groups if of]})


@staff_page
@require_safe
def signs_print(request: HttpRequest) -> HttpResponse:
    """``?sign=front-door&sign=station:E1``: those that were ticked, each on a sheet of its own."""
    wanted = request.GET.getlist("sign")
    found = [one for one in _signs() if one.key in wanted]
    if wanted and not found:
        raise Http404
    return render(request, "desk/signs/print.html", {"signs": found})
