"""The figures of a bath: looked at with what they lead to, then put in force."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from studiodesk.answers import Refused
from studiodesk.people.access import staff_page
from studiodesk.stations import queries as stations

from .. import actions, queries
from ..forms import FiguresForm, figures_written
from ..models import Bath, PaperClass
from ..queries import evaporating as water
from ..queries import reckoning
from ..rules.evaporating import learned
from ..rules.leading import Lead, leads_to
from ..rules.settings import BathSettings, PaperFigures
from ..words import lead_words
from .book import stands
from .common import answered_once, sent, studio_zone


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def bath_figures(request: HttpRequest, processor: str, code: str) -> HttpResponse:
    """POST ``deed``: "look" shows what the figures would lead to, "keep" puts them in force."""
    row, _line = stands(processor, code)
    now = timezone.now()
    papers = list(PaperClass.objects.filter(processes=row.processor.process_id).order_by("name", "pk"))
    versions = queries.versions(row)
    studio = stations.studio()
    given = {"bath": row, "sizes": queries.all_sheets(), "papers": papers, "currency": studio.currency}
    digits = studio.currency_digits
    if request.method != "POST":
        initial = {**figures_written(versions[0], digits), "since": now}
        initial["next_bath"] = row.next_bath.code if row.next_bath else ""
        form = FiguresForm(initial=initial, **given)
        leads = _leads(row, reckoning.settings_of(versions[0]), now)
        return _page(request, row, form, versions, leads)
    form = FiguresForm(request.POST, **given)
    if not form.is_valid():
        return _page(request, row, form, versions, [], status=422)
    figures = form.figures(digits)
    if request.POST.get("deed") == "keep":
        try:
            answered_once(request, sent(request), now, lambda: _keep(request, row, form, figures, now))
        except Refused as refused:
            form.refuse(refused.refusal)
            return _page(request, row, form, versions, [], status=422)
        messages.success(request, _("The new figures are in force."))
        return redirect("bath", processor=processor, code=code)
    return _page(request, row, form, versions, _leads(row, settings_from(figures), now), looked=True)


def settings_from(figures: dict[str, Any]) -> BathSettings:
    """The columns of a version as the rules see them."""
    by_paper = {code: PaperFigures(**own) for code, own in figures["by_paper"].items()}
    return BathSettings(**{name: figures[name] for name in reckoning.FIGURES}, by_paper=by_paper)


def _keep(request: HttpRequest, row: Bath, form: FiguresForm, figures: dict[str, Any], now: datetime) -> dict[str, Any]:
    kept = actions.put_figures_in_force(
        bath=row,
        figures=figures,
        since=min(form.cleaned_data["since"], now),
        now=now,
        by=request.user,
        next_bath=form.next_one,
        keep_next=False,
    )
    return {"setting": kept.pk}


def _leads(row: Bath, settings: BathSettings, now: datetime) -> list[dict[str, Any]]:
    size = queries.usual_size(row.processor)
    found = leads_to(settings, queries.use_of(row.processor, now), sheet_mm2=size.area_mm2 if size else None)
    lost = learned(water.toppings(row, studio_zone()))
    if lost is not None:
        found.append(Lead("water_lost", {"pl": lost, "set_pl": settings.evaporation_pl_per_day}))
    return [{**asdict(one), "words": lead_words(one.code, one.facts)} for one in found]


def _page(
    request: HttpRequest,
    row: Bath,
    form: FiguresForm,
    versions: list[Any],
    leads: list[dict[str, Any]],
    *,
    looked: bool = False,
    status: int = 200,
) -> HttpResponse:
    usual = queries.usual_size(row.processor)
    context = {
        "bath": row,
        "form": form,
        "groups": form.groups(),
        "versions": versions,
        "leads": leads,
        "looked": looked,
        "usual": usual,
    }
    return render(request, "chemistry/figures.html", context, status=status)
