"""One shift: what may be done with it, and the note for whoever comes next."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from studiodesk.answers import Refused
from studiodesk.people.access import shift_page
from studiodesk.timekeeping import Span
from studiodesk.words import say

from .. import actions, queries
from ..forms import AssignForm, HandOverForm
from ..models import Shift
from .lines import line


def _supervises(supervises: bool) -> Callable[..., Any]:
    return lambda **given: actions.set_supervises(supervises=supervises, **given)


#: What a button of a shift does, and what is said afterwards.
DEEDS: dict[str, tuple[Callable[..., Any], Any]] = {
    "take": (actions.take_shift, gettext_lazy("The shift is yours. Thank you.")),
    "take-over": (actions.take_over, gettext_lazy("The shift is yours. Whoever asked is told.")),
    "give-back": (actions.give_back, gettext_lazy("The shift is given back. Everybody who could take it is told.")),
    "ask": (
        actions.ask_swap,
        gettext_lazy("Everybody who could take it is asked. Until somebody does the shift stays yours."),
    ),
    "withdraw": (actions.withdraw_swap, gettext_lazy("You keep the shift.")),
    "begin": (actions.begin_shift, gettext_lazy("Your shift has begun.")),
    "end": (
        actions.end_shift,
        gettext_lazy("Your shift has ended. Is there anything that whoever comes next should know?"),
    ),
    "helps": (_supervises(True), gettext_lazy("In this shift somebody is there for beginners.")),
    "helps-not": (_supervises(False), gettext_lazy("In this shift nobody is there for beginners.")),
    "put-back": (actions.put_back, gettext_lazy("The shift stands again, and nobody has it yet.")),
}


def _shift(request: HttpRequest, pk: int) -> Shift:
    try:
        return queries.access_shift(request.user, pk)
    except Shift.DoesNotExist as missing:
        raise Http404 from missing


def _back(request: HttpRequest, pk: int) -> HttpResponse:
    """To where the button was pressed: its place in the list, or the shift's own page."""
    if "from" not in request.POST:
        return redirect("shift", pk=pk)
    day = request.POST["from"][:10]
    return redirect(reverse("shifts", query={"from": day} if day else None, fragment=f"shift-{pk}"))


@shift_page
@require_http_methods(["GET", "HEAD", "POST"])
def shift(request: HttpRequest, pk: int) -> HttpResponse:
    """POST ``deed``: one of ``DEEDS``, or ``assign`` with ``person``."""
    row = _shift(request, pk)
    deed = request.POST.get("deed", "")
    if request.method != "POST":
        return _page(request, row, AssignForm(initial={"person": row.person_id}))
    if deed == "assign":
        return _assign(request, row)
    if deed not in DEEDS:
        messages.error(request, _("That button is not known here. Nothing was changed."))
        return _back(request, pk)
    act, said = DEEDS[deed]
    act(shift=row, now=timezone.now(), by=request.user)
    messages.success(request, said)
    return redirect("shift_hand_over", pk=pk) if deed == "end" else _back(request, pk)


def _assign(request: HttpRequest, row: Shift) -> HttpResponse:
    form = AssignForm(request.POST)
    if form.is_valid():
        person = form.cleaned_data["person"]
        try:
            actions.assign(shift=row, person=person, now=timezone.now(), by=request.user)
        except Refused as refused:
            if refused.refusal.code == "stations.staff_only":
                raise
            form.add_error("person", str(say(refused.refusal)))
        else:
            messages.success(request, _("%(name)s has the shift.") % {"name": person.name})
            return redirect("shift", pk=row.pk)
    return _page(request, row, form, status=422)


def _page(request: HttpRequest, row: Shift, form: AssignForm, status: int = 200) -> HttpResponse:
    swap = queries.open_swaps([row]).get(row.pk)
    theirs = queries.spans_of(request.user, Span(row.starts, row.ends), without=row)
    context = {
        "line": line(row, swap, request.user, timezone.now(), theirs),
        "form": form,
        "may_read": bool(row.hand_over) and queries.may_read_note(request.user, row),
    }
    return render(request, "stations/shift.html", context, status=status)


@shift_page
@require_http_methods(["GET", "HEAD", "POST"])
def shift_hand_over(request: HttpRequest, pk: int) -> HttpResponse:
    """Whoever has the shift, or staff, write what whoever comes next should know."""
    row, now = _shift(request, pk), timezone.now()
    queries.require_hand_over(row, request.user, now)
    form = HandOverForm(request.POST if request.method == "POST" else None, initial={"note": row.hand_over})
    if request.method == "POST" and form.is_valid():
        actions.hand_over(shift=row, note=form.cleaned_data["note"], now=now, by=request.user)
        messages.success(request, _("The note is kept for whoever comes next."))
        return redirect("shifts")
    status = 422 if request.method == "POST" else 200
    return render(request, "stations/hand_over.html", {"shift": row, "form": form}, status=status)
