"""The page of one container for mixes: what is in it, poured over, read, emptied."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from studiodesk.answers import Refused
from studiodesk.people.access import house_page
from studiodesk.units import PL_PER_ML

from .. import actions
from ..forms import ChemistryForm, EmptyForm, LevelForm, MoveForm
from ..models import Container
from ..queries import mixing as reads
from ..words.mixing import CONTAINER_EVENTS
from .common import answered_once, sent


@require_http_methods(["GET", "HEAD", "POST"])
@house_page
def container(request: HttpRequest, code: str) -> HttpResponse:
    """POST ``deed``: move, level or empty."""
    try:
        row = reads.access_container(code)
    except Container.DoesNotExist as missing:
        raise Http404 from missing
    now = timezone.now()
    here = reads.content_of(row, now)
    all_boxes = reads.contents(reads.containers(), now).values()
    others = [one for one in all_boxes if one.container.pk != row.pk and one.container.in_use]
    level = {"amount": here.level_pl // PL_PER_ML}
    forms: dict[str, ChemistryForm] = {
        "move": MoveForm(containers=others, initial=level),
        "level": LevelForm(initial=level),
        "empty": EmptyForm(),
    }
    status, wrong = 200, None
    if request.method == "POST":
        deed = request.POST.get("deed", "")
        if deed not in forms:
            messages.error(request, _("That button is not known here. Nothing was changed."))
            return redirect("container", code=code)
        made = {
            "move": lambda: MoveForm(request.POST, containers=others),
            "level": lambda: LevelForm(request.POST),
            "empty": lambda: EmptyForm(request.POST),
        }
        wrong = forms[deed] = made[deed]()
        if wrong.is_valid():
            work = _deed(row, deed, wrong, now=now, by=request.user)
            try:
                answered_once(request, sent(request), now, work)
            except Refused as refused:
                wrong.refuse(refused.refusal)
            else:
                messages.success(request, _("Written down: %(name)s.") % {"name": row.name})
                return redirect("container", code=code)
        status = 422
    entries = [(one, CONTAINER_EVENTS[one.event]) for one in reads.container_entries(row)]
    context = {"container": row, "here": here, "forms": forms, "wrong": wrong, "entries": entries, "others": others}
    return render(request, "chemistry/container.html", context, status=status)


def _deed(row: Container, deed: str, form: Any, **who: Any) -> Callable[[], dict[str, Any]]:
    note = form.cleaned_data["note"]

    def work() -> dict[str, Any]:
        if deed == "move":
            target = form.containers[form.cleaned_data["container"]]
            entry = actions.move_mix(source=row, target=target, amount_pl=form.amount_pl, note=note, **who)
        elif deed == "level":
            entry = actions.read_level(container=row, level_pl=form.amount_pl, note=note, **who)
        else:
            entry = actions.empty_container(container=row, note=note, **who)
        return {"entry": entry.pk}

    return work
