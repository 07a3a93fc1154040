"""What the house lends with a booking: the list, a new item, one of them."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from studiodesk.answers import Refused
from studiodesk.people.access import staff_page
from studiodesk.words import say

from .. import actions, queries
from ..forms import SORTS, KitForm
from ..models import KitItem


@staff_page
@require_safe
def kit(request: HttpRequest) -> HttpResponse:
    names, sorts = {process.code: process.name for process in queries.processes()}, dict(SORTS)
    rows = [
        {
            "item": item,
            "sort": sorts.get(item.sort, item.sort),
            "goes_with": [*item.kinds, *(names.get(code, code) for code in item.process_codes)],
        }
        for item in queries.kit()
    ]
    return render(request, "stations/kit.html", {"rows": rows})


def _kept(form: KitForm, code: str, **values: Any) -> KitItem | None:
    """Describe it so, or say at the field why not."""
    try:
        item, _changed = actions.describe_kit(code=code, now=timezone.now(), **values)
    except Refused as refused:
        if not refused.refusal.code.startswith("stations."):
            raise
        form.add_error("pieces", str(say(refused.refusal)))
        return None
    return item


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def kit_new(request: HttpRequest) -> HttpResponse:
    form = KitForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        item = _kept(form, form.cleaned_data["code"], by=request.user, **form.values)
        if item is not None:
            messages.success(request, _("%(name)s can be taken along from now on.") % {"name": item.name})
            return redirect("kit")
    return render(request, "stations/kit_item.html", {"form": form}, status=422 if form.is_bound else 200)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def kit_item(request: HttpRequest, code: str) -> HttpResponse:
    try:
        item = queries.access_kit(code)
    except KitItem.DoesNotExist as missing:
        raise Http404 from missing
    retires = "retire" in request.POST
    form = KitForm(request.POST if request.method == "POST" and not retires else None, item=item)
    if retires:
        return _retire(request, item)
    if form.is_bound and form.is_valid() and _kept(form, item.code, by=request.user, **form.values) is not None:
        messages.success(request, _("Kept."))
        return redirect("kit")
    context = {"form": form, "item": item}
    return render(request, "stations/kit_item.html", context, status=422 if form.is_bound else 200)


def _retire(request: HttpRequest, item: KitItem) -> HttpResponse:
    """No piece is lent out any more; refused while one is kept for somebody."""
    actions.describe_kit(
        code=item.code,
        name=item.name,
        sort=item.sort,
        pieces=0,
        kinds=item.kinds,
        process_codes=item.process_codes,
        from_end_minutes=item.from_end_minutes,
        outlasts_minutes=item.outlasts_minutes,
        now=timezone.now(),
        by=request.user,
    )
    messages.success(request, _("%(name)s is not lent out any more.") % {"name": item.name})
    return redirect("kit")
