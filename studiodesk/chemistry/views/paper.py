"""The sizes and classes of paper: what the studio prints on, as staff keep it."""

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
from studiodesk.stations import queries as stations

from .. import actions, queries
from ..forms import PaperForm, SizeForm
from ..models import PaperClass, SheetSize
from .common import code_for


@require_safe
@staff_page
def papers(request: HttpRequest) -> HttpResponse:
    """Everything that may go through, in use or not."""
    context = {
        "sizes": SheetSize.objects.order_by("-in_use", "sort", "width_mm", "length_mm", "pk"),
        "papers": queries.all_papers().prefetch_related("processes"),
    }
    return render(request, "chemistry/papers.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def size_new(request: HttpRequest) -> HttpResponse:
    return _size(request, None)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def size_edit(request: HttpRequest, code: str) -> HttpResponse:
    try:
        return _size(request, queries.access_size(code))
    except SheetSize.DoesNotExist as missing:
        raise Http404 from missing


def _size(request: HttpRequest, row: SheetSize | None) -> HttpResponse:
    if request.method != "POST":
        initial = SizeForm.written(row) if row is not None else {"sort": SheetSize.Sort.SHEET, "in_use": True}
        return _shown(request, SizeForm(initial=initial), row)
    form = SizeForm(request.POST)
    if form.is_valid():
        values = form.values()
        taken = set(SheetSize.objects.values_list("code", flat=True))
        code = row.code if row is not None else _size_code(values, taken)
        try:
            kept = actions.keep_size(code=code, now=timezone.now(), by=request.user, **values)
        except Refused as refused:
            form.refuse(refused.refusal)
        else:
            messages.success(request, _("Kept: %(what)s.") % {"what": kept.label})
            return redirect("papers")
    return _shown(request, form, row, 422)


def _size_code(values: dict[str, Any], taken: set[str]) -> str:
    """ "203x254"; a roll and a film by their names."""
    named = f"{values['width_mm']}x{values['length_mm']}" if values["length_mm"] else values["name"]
    return code_for(named, taken, longest=30)


def _shown(request: HttpRequest, form: SizeForm, row: SheetSize | None, status: int = 200) -> HttpResponse:
    return render(request, "chemistry/paper_size.html", {"form": form, "size": row}, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def paper_new(request: HttpRequest) -> HttpResponse:
    return _paper(request, None)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def paper_edit(request: HttpRequest, code: str) -> HttpResponse:
    try:
        return _paper(request, queries.access_paper(code))
    except PaperClass.DoesNotExist as missing:
        raise Http404 from missing


def _paper(request: HttpRequest, row: PaperClass | None) -> HttpResponse:
    processes = list(stations.processes())
    status = 200
    if request.method == "POST":
        form = PaperForm(request.POST, processes=processes)
        if form.is_valid():
            taken = set(PaperClass.objects.values_list("code", flat=True))
            code = row.code if row is not None else code_for(form.cleaned_data["name"], taken, longest=60)
            kept = actions.keep_paper(code=code, now=timezone.now(), by=request.user, **form.values())
            messages.success(request, _("Kept: %(what)s.") % {"what": kept.name})
            return redirect("papers")
        status = 422
    else:
        through = list(row.processes.values_list("code", flat=True)) if row is not None else []
        form = PaperForm(processes=processes, initial={"name": row.name if row else "", "processes": through})
    return render(request, "chemistry/paper_class.html", {"form": form, "paper": row}, status=status)
