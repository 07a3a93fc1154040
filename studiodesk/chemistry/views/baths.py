"""The chemistry board, the page of one bath, and the entries of its book."""

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
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studiodesk.answers import Refused, refuse
from studiodesk.people.access import house_page, member_page
from studiodesk.timekeeping import Span
from studiodesk.units import PL_PER_ML
from studiodesk.words import say

from .. import actions, queries
from ..forms import EntryForm
from ..models import Bath, BathEntry
from ..rules import doubting, entering
from ..rules.seasoning import left_by_continuous_bleed
from ..rules.settings import RUNNING_WATER
from ..rules.standing import Standing, grams
from .common import answered_once, sent, sheet_count, today

#: the word in the address → the event, what its page is called, what its button says
EVENTS = {
    "replenishment": (entering.GIVEN, gettext_lazy("Replenishment given"), gettext_lazy("Log what was given")),
    "change": (entering.REFILL, gettext_lazy("Bath change"), gettext_lazy("The bath was changed")),
    "water": (entering.WATER, gettext_lazy("Topped up with water"), gettext_lazy("Log the water")),
    "working-solution": (
        entering.WORKING_SOLUTION,
        gettext_lazy("Topped up with working solution"),
        gettext_lazy("Log the working solution"),
    ),
    "partial-dump": (entering.PARTIAL_DUMP, gettext_lazy("Part of the bath replaced"), gettext_lazy("Log it")),
    "lost": (entering.LOST, gettext_lazy("Spilled or leaked"), gettext_lazy("Log the loss")),
    "strip": (entering.STRIP, gettext_lazy("Silver strip read"), gettext_lazy("Log the reading")),
    "spent": (entering.CONDEMNED, gettext_lazy("Call the bath spent"), gettext_lazy("Call it spent")),
    "note": (entering.NOTE, gettext_lazy("Note"), gettext_lazy("Keep the note")),
}
#: what is said of an amount that was written down
AMOUNT_WORDS = {
    entering.GIVEN: gettext_lazy("%(amount)s given"),
    entering.WATER: gettext_lazy("topped up with %(amount)s of water"),
    entering.WORKING_SOLUTION: gettext_lazy("topped up with %(amount)s of working solution"),
    entering.PARTIAL_DUMP: gettext_lazy("%(amount)s of the bath replaced"),
    entering.LOST: gettext_lazy("%(amount)s spilled or leaked"),
}
TITLES = {event: title for event, title, _button in EVENTS.values()} | {
    entering.CONDEMNED: gettext_lazy("Called spent")
}
SHOWN = 30


@require_safe
@member_page
def board(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    lines = queries.worst_first(queries.standings(now))
    return render(
        request, "chemistry/board.html", {"lines": lines, "now": now, "table": request.GET.get("view") == "table"}
    )


@require_safe
@member_page
def bath(request: HttpRequest, processor: str, code: str) -> HttpResponse:
    row, line = _stands(processor, code)
    now = timezone.now()
    day = today(now)
    return render(
        request,
        "chemistry/bath.html",
        {
            "bath": row,
            "line": line,
            "usual": _sheets_of_room(row, line),
            "first_mix_left": None if line.turnovers is None else left_by_continuous_bleed(line.turnovers),
            "main_act": "change" if line.used >= 1 else "replenishment" if line.replenishment_due else "",
            "offers": _offers(line) if request.user.may_run_the_house else {},
            "entries": [_entry_line(one, day) for one in queries.entries_of(row)[:SHOWN]],
            "fills": queries.earlier_fills(row)[:6],
            "now": now,
        },
    )


@require_http_methods(["GET", "HEAD", "POST"])
@house_page
def bath_entry(request: HttpRequest, processor: str, code: str, slug: str) -> HttpResponse:
    """The form of one kind of entry, with the cautions beside it."""
    row, line = _stands(processor, code)
    if slug not in EVENTS:
        raise Http404
    event, title, button = EVENTS[slug]
    now = timezone.now()
    status = 200
    if request.method == "POST":
        form = EntryForm(request.POST, event=event)
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
        form = EntryForm(event=event, initial={"at": now, "amount": _due_ml(line) if event == entering.GIVEN else None})
    context = {"bath": row, "line": line, "form": form, "slug": slug, "title": title, "button": button}
    return render(request, "chemistry/bath_entry.html", context, status=status)


@require_POST
@house_page
def bath_entry_undo(request: HttpRequest, processor: str, code: str, pk: int) -> HttpResponse:
    """Take an entry of today back: a note takes its place."""
    row, _line = _stands(processor, code)
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


def _stands(processor: str, code: str) -> tuple[Bath, Standing]:
    try:
        row = queries.access_bath(processor, code)
    except Bath.DoesNotExist as missing:
        raise Http404 from missing
    lines = queries.standings(timezone.now(), of=[row])
    if not lines:
        raise Http404
    return row, lines[0]


def _entry_line(entry: BathEntry, day: Span) -> dict[str, Any]:
    """An entry with its words, and whether it still holds and may be taken back."""
    by = getattr(entry, "corrected_by", None)
    recorded_today = day.starts <= entry.recorded_at < day.ends
    refusal = entering.may_take_back(
        already_corrected=by is not None,
        is_a_correction=entry.corrects_id is not None,
        from_a_file=entry.file_key is not None,
        recorded_today=recorded_today,
    )
    return {
        "entry": entry,
        "title": TITLES[entry.event],
        "silver_g_per_l": grams(entry.silver_ug_per_l),
        "gone": by,
        "gone_today": by is not None and day.starts <= by.recorded_at < day.ends,
        "taken_back": by is not None and by.event == entering.NOTE,
        "may_undo": refusal is None,
    }


def _write(
    request: HttpRequest, line: Standing, row: Bath, event: str, form: EntryForm, now: datetime
) -> dict[str, Any]:
    """The act, once nothing about it is doubtful or the doubt was answered."""
    values = form.values()
    first = queries.before_first_filling(row, values["at"])
    if first and event not in (entering.REFILL, entering.NOTE):
        refuse("chemistry.before_first_filling", bath=row.name, at=first)
    form.ask_again_about(values["at"], now)
    if event == entering.GIVEN and line.outstanding_pl is not None and 0 < (values["amount_pl"] or 0) <= line.volume_pl:
        form.ask_again(doubting.doubt_given(values["amount_pl"], line.outstanding_pl, line.volume_pl))
    entry = actions.record_bath_entry(bath=row, event=event, now=now, by=request.user, **values)
    return {"entry": entry.pk}


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


def _sheets_of_room(row: Bath, line: Standing) -> str:
    """The room that the capacity leaves, in whole sheets of the usual size: "12 sheets of 8×10 in"."""
    size = queries.usual_size(row.processor) if line.room_mm2 else None
    return sheet_count(line.room_mm2 // (size.width_mm * size.length_mm), size.name) if size and line.room_mm2 else ""


def _due_ml(line: Standing) -> int | float | None:
    """What whole strokes or measures wait to be given, in mL."""
    if not line.strokes_due or not line.unit_pl:
        return None
    amount = line.strokes_due * line.unit_pl / PL_PER_ML
    return int(amount) if amount == int(amount) else amount


def _offers(line: Standing) -> dict[str, list[tuple[str, Any]]]:
    """(word in the address, title) of the entries that make sense for this bath, the usual ones apart."""
    usual = ["replenishment"] if line.outstanding_pl is not None else []
    usual += ["change"] if line.dosing != RUNNING_WATER else ["note"]
    if line.silver_ug_per_l is not None and line.dosing != RUNNING_WATER:
        usual.append("strip")
    others = (
        [slug for slug in EVENTS if slug not in {*usual, "replenishment"}]
        if line.dosing != RUNNING_WATER
        else ["spent"]
    )
    return {"main": [(slug, EVENTS[slug][1]) for slug in usual], "more": [(slug, EVENTS[slug][1]) for slug in others]}
