"""A bath's pump measured, and its replenisher bottle read against the book."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from studiodesk.answers import Refusal, Refused
from studiodesk.people.access import house_page
from studiodesk.words import say

from .. import actions, queries
from ..forms import BottleForm, NewBottleForm, PumpForm
from ..models import Bath
from ..rules import doubting
from ..rules.bottle import unseen_sheets
from ..rules.entered_rates import change_of_stroke, is_flagged, ml_of
from ..rules.settings import MACHINE
from ..rules.standing import Standing
from .book import stands
from .common import answered_once, sent, sheet_count


@require_http_methods(["GET", "HEAD", "POST"])
@house_page
def bath_pump(request: HttpRequest, processor: str, code: str) -> HttpResponse:
    """Strokes caught in a cylinder; the history of what was measured."""
    row, line = stands(processor, code)
    now = timezone.now()
    if line.dosing != MACHINE:
        messages.error(request, str(say(Refusal("chemistry.no_pump", {"bath": row.name}))))
        return redirect("bath", processor=processor, code=code)
    form, status = PumpForm(initial={"at": now, "strokes_each": 1}), 200
    if request.method == "POST":
        form = PumpForm(request.POST)
        if form.is_valid():
            try:
                answer = answered_once(request, sent(request), now, lambda: _measured(request, row, form, now))
            except Refused as refused:
                form.refuse(refused.refusal)
            else:
                said = messages.warning if answer["flagged"] else messages.success
                said(request, answer["words"])
                return redirect("bath_pump", processor=processor, code=code)
        status = 422
    history = [
        {
            "row": one,
            "flagged": is_flagged(one.was_pl, one.mean_pl),
            "share": float(change_of_stroke(one.was_pl, one.mean_pl)),
        }
        for one in queries.calibrations(row)
    ]
    context = {"bath": row, "line": line, "form": form, "history": history}
    return render(request, "chemistry/pump.html", context, status=status)


def _measured(request: HttpRequest, row: Bath, form: PumpForm, now: datetime) -> dict[str, Any]:
    kept = actions.calibrate_pump(bath=row, now=now, by=request.user, **form.values())
    known = {"ml": number_format(ml_of(kept.mean_pl).quantize(ml_of(1_000_000)).normalize()), "share": ""}
    flagged = is_flagged(kept.was_pl, kept.mean_pl)
    if flagged:
        known["share"] = number_format(round(float(100 * change_of_stroke(kept.was_pl, kept.mean_pl)), 1))
        words = _("A stroke gives %(ml)s mL, %(share)s %% away from before: look at the pump, its hoses and filter.")
    else:
        words = _("A stroke gives %(ml)s mL from now on.")
    return {"words": words % known, "flagged": flagged}


@require_http_methods(["GET", "HEAD", "POST"])
@house_page
def bath_bottle(request: HttpRequest, processor: str, code: str) -> HttpResponse:
    """POST ``deed``: "name" a bottle, "read" it, or "book" what went unseen."""
    row, line = stands(processor, code)
    now = timezone.now()
    if line.outstanding_pl is None:
        messages.error(request, str(say(Refusal("chemistry.not_replenished", {"bath": row.name}))))
        return redirect("bath", processor=processor, code=code)
    deed = request.POST.get("deed", "")
    form: NewBottleForm | BottleForm
    container = queries.bottle_of(row)
    status = 200
    if container is None:
        form = NewBottleForm(request.POST if deed == "name" else None, initial={"name": _first_name(row)})
    else:
        form = BottleForm(request.POST if deed == "read" else None, initial={"at": now})
    if request.method == "POST" and (deed == "book" or (form.is_bound and form.is_valid())):
        try:
            answer = answered_once(request, sent(request), now, lambda: _done(request, row, container, form, deed, now))
        except Refused as refused:
            if deed == "book":
                messages.error(request, str(say(refused.refusal)))
                return redirect("bath_bottle", processor=processor, code=code)
            form.refuse(refused.refusal)
        else:
            messages.success(request, answer["words"])
            return redirect("bath_bottle", processor=processor, code=code)
    if request.method == "POST":
        status = 422
    return _bottle(request, row, line, form, status)


def _first_name(row: Bath) -> str:
    return _("%(bath)s, replenisher") % {"bath": row.name}


def _done(request: HttpRequest, row: Bath, container: Any, form: Any, deed: str, now: datetime) -> dict[str, Any]:
    if deed == "name":
        kept = actions.keep_bottle(bath=row, now=now, by=request.user, **form.values())
        return {"words": _("Kept: %(what)s. Read its level now.") % {"what": kept.name}}
    if deed == "read":
        values = form.values()
        form.ask_again_about(values["at"], now)
        for amount in (values["level_pl"], values["poured_in_pl"]):
            if amount > 0:
                form.ask_again(doubting.doubt_unit(amount, None, container.capacity_pl))
        seen = actions.read_bottle(container=container, now=now, by=request.user, **values)
        if seen is None:
            return {
                "words": _("The first level is written down. From the next reading on it is held against the book.")
            }
        return {"words": _("The level is written down.")}
    last = queries.falls(container)[-1] if container is not None and queries.falls(container) else None
    actions.book_unseen(bath=row, at=last.ends if last else now, now=now, by=request.user)
    return {"words": _("Booked: the book and the bottle agree again.")}


def _bottle(request: HttpRequest, row: Bath, line: Standing, form: Any, status: int) -> HttpResponse:
    container = queries.bottle_of(row)
    falls = queries.falls(container) if container is not None else []
    last = falls[-1] if falls else None
    booking = ""
    if last is not None and last.fall.unseen_pl > 0 and not queries.is_booked(row, last):
        booking = _what_is_booked(row, line, last.fall.unseen_pl, last.ends)
    context = {
        "bath": row,
        "line": line,
        "form": form,
        "container": container,
        "level": queries.level_pl(container) if container is not None else None,
        "falls": [
            {"one": one, "share": None if one.fall.share is None else float(one.fall.share)} for one in reversed(falls)
        ],
        "last": last,
        "booking": booking,
    }
    return render(request, "chemistry/bottle.html", context, status=status)


def _what_is_booked(row: Bath, line: Standing, unseen_pl: int, at: datetime) -> str:
    """ "13 sheets of 20×25 cm / 8×10 in", or "240 mL given"; "" if it is less than one of them."""
    if line.dosing != MACHINE:
        return _("%(ml)s mL given") % {"ml": number_format(round(ml_of(unseen_pl)))}
    size = queries.usual_size(row.processor)
    rate = queries.rate_at(row, at)
    sheets = unseen_sheets(unseen_pl, rate, size.area_mm2) if size else 0
    return sheet_count(sheets, size.label) if size and sheets else ""
