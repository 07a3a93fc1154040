"""What wants doing: the list, and the page of one alert."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, time, timedelta
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from studiodesk.answers import Refused
from studiodesk.dates import clock, written
from studiodesk.people.access import house_page
from studiodesk.timekeeping import localise, studio_day

from .. import actions, queries
from ..forms import ClearForm, PutOffForm
from ..models import Alert
from ..words.alerts import DEEDS as HISTORY
from .common import answered_once, sent, studio_zone

TEN = time(10)


def _take_over(**given: Any) -> Any:
    return actions.take_alert(over=True, **given)


#: What is done at once by a button, and what is said afterwards.
AT_ONCE: dict[str, tuple[Callable[..., Any], Any]] = {
    "take": (actions.take_alert, gettext_lazy("It is yours. Thank you.")),
    "give-back": (actions.give_back_alert, gettext_lazy("It is given back: nobody has it.")),
    "take-over": (_take_over, gettext_lazy("It is yours now. Tell whoever had it.")),
    "bring-back": (actions.bring_back_alert, gettext_lazy("It is back among the others.")),
}


@require_safe
@never_cache
@house_page
def alerts(request: HttpRequest) -> HttpResponse:
    """The worst first; what is put off and what was cleared lately stand below."""
    now = timezone.now()
    found = queries.open_alerts(now)
    context = {
        "lines": queries.alert_lines(found.now, now),
        "put_off": queries.alert_lines(found.put_off, now),
        "cleared": queries.alert_lines(queries.cleared_lately(now), now),
        "checked": queries.checked_at(),
        "now": now,
    }
    return render(request, "chemistry/alerts.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@house_page
def alert(request: HttpRequest, pk: int) -> HttpResponse:
    """POST ``deed``: one of ``AT_ONCE``, ``put-off`` or ``clear``; ``from`` "list" goes back to the list."""
    now = timezone.now()
    try:
        row = queries.access_alert(pk)
    except Alert.DoesNotExist as missing:
        raise Http404 from missing
    deed = request.POST.get("deed", "")
    if request.method != "POST":
        return _page(request, row, now)
    if deed in AT_ONCE:
        act, said = AT_ONCE[deed]
        act(alert=row, now=now, by=request.user)
        messages.success(request, said)
        return _back(request, pk)
    if deed == "put-off":
        until = PutOffForm(request.POST)
        return _written(request, row, now, until, lambda: _put_off(request, row, until, now))
    if deed == "clear":
        why = ClearForm(request.POST)
        return _written(request, row, now, why, lambda: _clear(request, row, why, now))
    messages.error(request, _("That button is not known here. Nothing was changed."))
    return _back(request, pk)


def _back(request: HttpRequest, pk: int) -> HttpResponse:
    if request.POST.get("from") == "list":
        return redirect(reverse("alerts", fragment=f"alert-{pk}"))
    return redirect("alert", pk=pk)


def _written(
    request: HttpRequest, row: Alert, now: datetime, form: PutOffForm | ClearForm, work: Callable[[], dict[str, Any]]
) -> HttpResponse:
    """The form's act, once; refused it is shown again as it was filled in."""
    if form.is_valid():
        try:
            answer = answered_once(request, sent(request), now, work)
        except Refused as refused:
            form.refuse(refused.refusal)
        else:
            messages.success(request, answer["words"])
            return redirect("alerts")
    return _page(request, row, now, form, status=422)


def _put_off(request: HttpRequest, row: Alert, form: PutOffForm, now: datetime) -> dict[str, Any]:
    chosen = form.cleaned_data
    actions.put_off_alert(alert=row, until=chosen["until"], reason=chosen["reason"], now=now, by=request.user)
    until = timezone.localtime(chosen["until"])
    said = {"day": written(until, "l j F"), "at": clock(until)}
    return {"words": _("Put off until %(day)s, %(at)s.") % said}


def _clear(request: HttpRequest, row: Alert, form: ClearForm, now: datetime) -> dict[str, Any]:
    actions.clear_by_hand(alert=row, reason=form.cleaned_data["reason"], now=now, by=request.user)
    return {"words": _("Cleared.")}


def _tomorrow(now: datetime) -> datetime:
    """Ten in the morning of the next day, to begin with."""
    zone = studio_zone()
    return localise(datetime.combine(studio_day(now, zone) + timedelta(days=1), TEN), zone)


def _page(
    request: HttpRequest, row: Alert, now: datetime, form: PutOffForm | ClearForm | None = None, status: int = 200
) -> HttpResponse:
    line = queries.AlertLine(row, now)
    context = {
        "line": line,
        "until": form if isinstance(form, PutOffForm) else PutOffForm(initial={"until": _tomorrow(now)}),
        "why": form if isinstance(form, ClearForm) else ClearForm(),
        "wrong": form,
        "history": [{"entry": one, "word": HISTORY.get(one.code, one.code)} for one in queries.history_of(row)],
        "put_off": row.facts.get("put_off", []),
        "is_yours": row.taken_by_id == request.user.pk,
        "now": now,
    }
    return render(request, "chemistry/alert.html", context, status=status)
