"""The entries of a bath's book: writing one down and taking it back."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST

from studiodesk.answers import Refusal, Refused, refuse
from studiodesk.people.access import house_page
from studiodesk.stations import job_queries
from studiodesk.units import PL_PER_ML
from studiodesk.words import say

from .. import actions, queries
from ..forms import EntryForm
from ..models import Bath, BathEntry
from ..queries import evaporating as water
from ..queries import sources
from ..rules import doubting, entering
from ..rules.standing import Standing
from .book import EVENTS, SLUGS, TITLES, stands
from .common import answered_once, sent, studio_zone

#: what is said of an amount that was written down
AMOUNT_WORDS = {
    entering.GIVEN: gettext_lazy("%(amount)s given"),
    entering.WATER: gettext_lazy("topped up with %(amount)s of water"),
    entering.WORKING_SOLUTION: gettext_lazy("topped up with %(amount)s of working solution"),
    entering.PARTIAL_DUMP: gettext_lazy("%(amount)s of the bath replaced"),
    entering.LOST: gettext_lazy("%(amount)s spilled or leaked"),
}


@require_http_methods(["GET", "HEAD", "POST"])
@house_page
def bath_entry(request: HttpRequest, processor: str, code: str, slug: str) -> HttpResponse:
    """The form of one kind of entry, with the cautions beside it."""
    row, line = stands(processor, code)
    if slug not in EVENTS:
        raise Http404
    event, title, button = EVENTS[slug]
    now = timezone.now()
    status = 200
    found = sources.sources_for(row, event, now)
    if request.method == "POST":
        form = EntryForm(request.POST, event=event, has_weir=line.has_weir, sources=found)
        if form.is_valid():
            try:
                answered_once(request, sent(request), now, lambda: _write(request, line, row, event, form, now))
            except Refused as refused:
                form.refuse(refused.refusal)
            else:
                messages.success(request, _("Written down: %(what)s.") % {"what": _what(event, form.cleaned_data)})
                return redirect("bath", processor=processor, code=code)
        status = 422
    else:
        due = _due_ml(line) if event == entering.GIVEN else None
        drawn = _ml(line.giving.draw_off_pl) if line.giving and not line.has_weir else None
        initial = {"at": now, "amount": due, "drawn": drawn, "source": sources.usual(row, event, found)}
        form = EntryForm(event=event, has_weir=line.has_weir, sources=found, initial=initial)
    context = {"bath": row, "line": line, "form": form, "slug": slug, "title": title, "button": button}
    if slug == "change":
        context["change_list"] = job_queries.has_change_list(row.processor)
    return render(request, "chemistry/bath_entry.html", context, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@house_page
def bath_entry_correct(request: HttpRequest, processor: str, code: str, pk: int) -> HttpResponse:
    """A new entry that takes the place of an old one, which stays readable beside it."""
    row, line = stands(processor, code)
    try:
        entry = queries.access_entry(row, pk)
    except BathEntry.DoesNotExist as missing:
        raise Http404 from missing
    if hasattr(entry, "corrected_by") or entry.event not in SLUGS:
        messages.error(request, str(say(Refusal("chemistry.already_corrected"))))
        return redirect("bath", processor=processor, code=code)
    now, status, slug = timezone.now(), 200, SLUGS[entry.event]
    if request.method == "POST":
        form = EntryForm(request.POST, event=entry.event, has_weir=line.has_weir and not entry.drawn_pl)
        if form.is_valid():
            try:
                answered_once(request, sent(request), now, lambda: _correct(request, line, row, entry, form, now))
            except Refused as refused:
                form.refuse(refused.refusal)
            else:
                messages.success(request, _("Corrected. What stood there before can still be read."))
                return redirect("bath", processor=processor, code=code)
        status = 422
    else:
        form = EntryForm(
            event=entry.event, has_weir=line.has_weir and not entry.drawn_pl, initial=EntryForm.written(entry)
        )
    context = {"bath": row, "line": line, "form": form, "slug": slug, "entry": entry, "title": TITLES[entry.event]}
    return render(request, "chemistry/bath_entry_correct.html", context, status=status)


@require_POST
@house_page
def bath_entry_undo(request: HttpRequest, processor: str, code: str, pk: int) -> HttpResponse:
    """Take an entry of today back: a note takes its place."""
    row, _line = stands(processor, code)
    now = timezone.now()
    try:
        entry = queries.access_entry(row, pk)
    except BathEntry.DoesNotExist as missing:
        raise Http404 from missing
    try:
        actions.take_back_entry(entry=entry, note=_("taken back"), now=now, by=request.user)
    except Refused as refused:
        messages.error(request, str(say(refused.refusal)))
    else:
        messages.success(request, _("The entry was taken back."))
    return redirect("bath", processor=processor, code=code)


def _write(
    request: HttpRequest, line: Standing, row: Bath, event: str, form: EntryForm, now: datetime
) -> dict[str, Any]:
    """The act, once nothing about it is doubtful or the doubt was answered."""
    values = form.values()
    first = queries.before_first_filling(row, values["at"])
    if first and event not in (entering.REFILL, entering.NOTE):
        refuse("chemistry.before_first_filling", bath=row.name, at=first)
    form.ask_again_about(values["at"], now)
    _ask_about_unit(form, line, values["amount_pl"])
    if event == entering.WATER:
        form.ask_again(doubting.doubt_water(water.worked_today(row, values["at"], studio_zone())))
    if event == entering.GIVEN and line.outstanding_pl is not None and 0 < (values["amount_pl"] or 0) <= line.volume_pl:
        form.ask_again(doubting.doubt_given(values["amount_pl"], line.outstanding_pl, line.volume_pl))
    source = form.chosen
    if source is not None:
        wanted = line.volume_pl if event == entering.REFILL else values["amount_pl"] or 0
        form.ask_again(doubting.doubt_level(wanted, source.level_pl, source.name))
        values |= {"container": source.container, "mix": source.mix}
    entry = actions.record_bath_entry(bath=row, event=event, now=now, by=request.user, **values)
    return {"entry": entry.pk}


def _ask_about_unit(form: EntryForm, line: Standing, amount_pl: int | None) -> None:
    if amount_pl is not None and amount_pl > 0:
        form.ask_again(doubting.doubt_unit(amount_pl, line.outstanding_pl, line.volume_pl))


def _correct(
    request: HttpRequest, line: Standing, row: Bath, entry: BathEntry, form: EntryForm, now: datetime
) -> dict[str, Any]:
    values = form.values()
    form.ask_again_about(values["at"], now)
    _ask_about_unit(form, line, values["amount_pl"])
    values |= {"container": entry.container, "mix": entry.mix}
    made = actions.record_bath_entry(bath=row, event=entry.event, now=now, by=request.user, corrects=entry, **values)
    return {"entry": made.pk}


def _what(event: str, written: dict[str, Any]) -> str:
    """What was written down, as it was written: "150 mL given"."""
    if event in AMOUNT_WORDS:
        return str(AMOUNT_WORDS[event]) % {"amount": _("%(figure)s mL") % {"figure": _figure(written["amount"])}}
    if written.get("silver") is not None:
        return _("%(silver)s g/L of silver read") % {"silver": _figure(written["silver"])}
    return str(TITLES[event])


def _figure(number: Decimal) -> str:
    """A decimal as people here write it, without zeros at its end."""
    whole = number == number.to_integral_value()
    return str(number_format(number.quantize(Decimal(1)) if whole else number.normalize(), force_grouping=True))


def _due_ml(line: Standing) -> int | float | None:
    """What whole strokes or measures wait to be given, in mL."""
    if not line.strokes_due or not line.unit_pl:
        return None
    return _ml(line.strokes_due * line.unit_pl)


def _ml(pl: int) -> int | float:
    amount = pl / PL_PER_ML
    return int(amount) if amount == int(amount) else amount
