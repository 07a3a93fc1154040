"""Who has which key of the house: keyholders look, staff hand out and take back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from studiodesk.answers import Refused
from studiodesk.words import say

from .. import actions, queries
from ..access import house_page, staff_page
from ..forms import HandOutForm, KeyForm
from ..models import HouseKey

#: What a button on a key's page does, and what is said afterwards.
DEEDS: dict[str, tuple[Callable[..., HouseKey], Any]] = {
    "back": (actions.take_back, gettext_lazy("%(code)s is in the house again.")),
    "lost": (actions.report_lost, gettext_lazy("%(code)s is kept as lost.")),
    "found": (actions.found_again, gettext_lazy("%(code)s has turned up.")),
    "retire": (actions.retire, gettext_lazy("%(code)s is not in use any more.")),
    "use": (actions.use_again, gettext_lazy("%(code)s is in use again.")),
}


@house_page
@require_http_methods(["GET", "HEAD", "POST"])
def keys(request: HttpRequest) -> HttpResponse:
    """The list; POST hands one out."""
    if request.method == "POST" and not request.user.is_staff:
        raise PermissionDenied
    found = queries.house_keys()
    form = HandOutForm(request.POST if request.method == "POST" else None, keys=found)
    if request.method == "POST" and form.is_valid():
        key, holder = form.cleaned_data["key"], form.cleaned_data["number"]
        try:
            actions.hand_out(key=key, holder=holder, now=timezone.now(), by=request.user)
        except Refused as refused:
            field = "number" if refused.refusal.code == "people.key_for_nobody" else "key"
            form.add_error(field, str(say(refused.refusal)))
        else:
            messages.success(request, _("%(name)s has %(code)s now.") % {"name": holder.name, "code": key.code})
            return redirect("keys")
    context = {
        "keys": found,
        "form": form,
        "at_hand": any(queries.is_at_hand(one) for one in found),
    }
    return render(request, "people/keys.html", context, status=422 if request.method == "POST" else 200)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def key_new(request: HttpRequest) -> HttpResponse:
    form = KeyForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            key = actions.add_key(now=timezone.now(), by=request.user, **form.cleaned_data)
        except Refused as refused:
            form.add_error("code", str(say(refused.refusal)))
        else:
            messages.success(request, _("%(code)s is added.") % {"code": key.code})
            return redirect("keys")
    status = 422 if request.method == "POST" else 200
    return render(request, "people/key_new.html", {"form": form}, status=status)


@house_page
@require_http_methods(["GET", "HEAD", "POST"])
def key(request: HttpRequest, code: str) -> HttpResponse:
    """Who had it when.  POST ``deed`` is one of ``DEEDS``."""
    try:
        row = queries.access_key(request.user, code)
    except HouseKey.DoesNotExist as missing:
        raise Http404 from missing
    if request.method != "POST":
        loans = list(queries.loans_of(row))
        context = {"key": row, "loan": next((one for one in loans if one.back_at is None), None), "loans": loans}
        return render(request, "people/key.html", context)
    if not request.user.is_staff:
        raise PermissionDenied
    if request.POST.get("deed") not in DEEDS:
        messages.error(request, _("That button is not known here. Nothing was changed."))
        return redirect("key", code=row.code)
    act, said = DEEDS[request.POST["deed"]]
    act(key=row, now=timezone.now(), by=request.user)
    messages.success(request, said % {"code": row.code})
    return redirect("key", code=row.code)
