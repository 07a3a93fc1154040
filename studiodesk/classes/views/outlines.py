"""Outlines: the list, a new one, one of them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from studiodesk.answers import Refused
from studiodesk.people.access import tutor_page
from studiodesk.stations import queries as stations
from studiodesk.words import say

from .. import actions, queries
from ..forms import OutlineForm
from ..models import Outline
from .common import answered_once

T = TypeVar("T")


@tutor_page
@require_safe
def outlines(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    context = {"outlines": queries.outlines(), "courses": queries.ahead(now), "member": request.user}
    return render(request, "classes/outlines.html", context)


def _write(request: HttpRequest, form: OutlineForm, code: str, *, is_new: bool = False) -> Outline:
    found = form.cleaned_data
    row, _changed = actions.write_outline(
        code=code,
        says=form.says,
        needs=form.needs,
        papers=form.papers,
        tutor_needs=list(found.get("tutor_needs", [])),
        signs_off=list(found.get("signs_off", [])),
        now=timezone.now(),
        by=request.user,
        is_new=is_new,
    )
    return row


def _done(form: OutlineForm, work: Callable[[], T]) -> T | None:
    """What ``work`` answers; None where what was written cannot be, which the form then says."""
    try:
        return work()
    except Refused as refused:
        if not refused.refusal.code.startswith(("classes.no_", "classes.outline_")):
            raise
        form.add_error(None, str(say(refused.refusal)))
        return None


def _new_code(name: str) -> str:
    """A code that no outline has yet, made of the name."""
    stem = slugify(name, allow_unicode=True)[:24] or "x"
    code, number = stem, 1
    while code == "new" or Outline.objects.filter(code=code).exists():
        number += 1
        code = f"{stem}-{number}"
    return code


@tutor_page
@require_http_methods(["GET", "HEAD", "POST"])
def outline_new(request: HttpRequest) -> HttpResponse:
    form = OutlineForm(request.POST if request.method == "POST" else None, studio=stations.studio())
    if form.is_bound and form.is_valid():
        sent = {name: request.POST.getlist(name) for name in request.POST if name not in {"csrfmiddlewaretoken", "key"}}

        def work() -> dict[str, Any]:
            return {"code": _write(request, form, _new_code(form.cleaned_data["name"]), is_new=True).code}

        made = _done(form, lambda: answered_once(request, timezone.now(), work, body=sent))
        if made is not None:
            messages.success(request, _("Kept. Now dates can be made from it."))
            return redirect("outline_dates", code=made["code"])
    return render(request, "classes/outline.html", {"form": form}, status=422 if form.is_bound else 200)


@tutor_page
@require_http_methods(["GET", "HEAD", "POST"])
def outline(request: HttpRequest, code: str) -> HttpResponse:
    try:
        row = queries.access_outline(code)
    except Outline.DoesNotExist as missing:
        raise Http404 from missing
    if "retire" in request.POST:
        actions.retire_outline(outline=row, now=timezone.now(), by=request.user)
        messages.success(request, _("No new dates are made from it."))
        return redirect("outlines")
    sent = request.POST if request.method == "POST" else None
    form = OutlineForm(sent, studio=stations.studio(), outline=row)
    if form.is_bound and form.is_valid() and _done(form, lambda: _write(request, form, row.code)) is not None:
        messages.success(request, _("Kept. Dates made before stay as they are."))
        return redirect("outlines")
    return render(request, "classes/outline.html", {"form": form, "outline": row}, status=422 if form.is_bound else 200)
