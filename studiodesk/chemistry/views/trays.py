"""Lines of trays opened and closed in one go, and fixing baths in pairs."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from studiodesk.answers import Refused
from studiodesk.people.access import house_page
from studiodesk.stations.models import Processor

from .. import actions, queries
from ..forms import RotateForm, TraysForm
from ..models import Bath
from ..queries import sources
from ..rules.entering import REFILL
from ..rules.standing import Standing
from .book import stands
from .common import answered_once, sent


@require_http_methods(["GET", "HEAD", "POST"])
@house_page
def trays(request: HttpRequest, code: str) -> HttpResponse:
    """``?closing=1``: poured back or away; else filled or poured out of the bottles."""
    try:
        processor = queries.access_processor(code)
    except Processor.DoesNotExist as missing:
        raise Http404 from missing
    now = timezone.now()
    closing = (request.POST if request.method == "POST" else request.GET).get("closing") == "1"
    if not queries.is_tray_line(processor):
        raise Http404
    baths = _trays(processor, now)
    found = {} if closing else {bath.pk: sources.sources_for(bath, REFILL, now) for bath, _line in baths}
    form, status = TraysForm(baths=baths, closing=closing, sources=found), 200
    if request.method == "POST":
        form = TraysForm(request.POST, baths=baths, closing=closing, sources=found)
        if form.is_valid():
            try:
                answer = answered_once(
                    request, sent(request), now, lambda: _set(request, processor, form, closing=closing, now=now)
                )
            except Refused as refused:
                form.refuse(refused.refusal)
            else:
                messages.success(request, answer["words"])
                return redirect("working_day", code=code)
        status = 422
    context = {"processor": processor, "form": form, "closing": closing, "rows": form.rows()}
    return render(request, "chemistry/trays.html", context, status=status)


def _trays(processor: Processor, now: datetime) -> list[tuple[Bath, Standing]]:
    listed = list(queries.baths().filter(processor=processor))
    by_pk = {bath.pk: bath for bath in listed}
    lines = queries.standings(now, of=listed)
    return [(by_pk[line.of.pk or 0], line) for line in lines]


def _set(
    request: HttpRequest, processor: Processor, form: TraysForm, *, closing: bool, now: datetime
) -> dict[str, Any]:
    written = actions.set_trays(processor=processor, closing=closing, now=now, by=request.user, **form.values())
    if not written:
        return {"words": _("Nothing was written down.")}
    said = ngettext("%(count)s entry was written down.", "%(count)s entries were written down.", len(written))
    return {"words": said % {"count": len(written)}}


@require_http_methods(["GET", "HEAD", "POST"])
@house_page
def bath_rotate(request: HttpRequest, processor: str, code: str) -> HttpResponse:
    """The second bath takes the place of the first."""
    row, line = stands(processor, code)
    if row.next_bath is None:
        raise Http404
    _second, behind = stands(processor, row.next_bath.code)
    now = timezone.now()
    form, status = RotateForm(initial={"at": now}), 200
    if request.method == "POST":
        form = RotateForm(request.POST)
        if form.is_valid():
            chosen = form.cleaned_data
            try:
                answered_once(
                    request,
                    sent(request),
                    now,
                    lambda: {
                        "entry": actions.rotate_baths(
                            bath=row, at=chosen["at"], note=chosen["note"], now=now, by=request.user
                        ).pk
                    },
                )
            except Refused as refused:
                form.refuse(refused.refusal)
            else:
                said = _("%(second)s is %(first)s now, and a fresh one stands behind it.")
                messages.success(request, said % {"second": row.next_bath.name, "first": row.name})
                return redirect("bath", processor=processor, code=code)
        status = 422
    limit = queries.versions(row)[0].rotations_limit
    context = {"bath": row, "line": line, "behind": behind, "form": form, "limit": limit}
    return render(request, "chemistry/rotate.html", context, status=status)
