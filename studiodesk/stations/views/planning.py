"""Staff plan the shifts of the weeks to come."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from studiodesk.answers import Refused
from studiodesk.journal.actions import once
from studiodesk.people.access import staff_page
from studiodesk.timekeeping import studio_day
from studiodesk.words import say

from .. import actions, queries
from ..forms import NewShiftForm, PlanForm


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def shifts_plan(request: HttpRequest) -> HttpResponse:
    now = timezone.now()
    zone = queries.zone(request.studio)
    today = studio_day(now, zone)
    form = PlanForm(request.POST if request.method == "POST" else None, today=today, initial={"first_day": today})
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        made = actions.plan_shifts(
            first=data["first_day"], weeks=data["weeks"], longest=form.longest_time(), now=now, by=request.user
        )
        if made:
            said = ngettext("%(count)d shift is planned.", "%(count)d shifts are planned.", len(made))
            messages.success(request, said % {"count": len(made)})
        else:
            messages.info(request, _("Nothing to plan: every opening hour of that time has its shift already."))
        return redirect("shifts")
    status = 422 if request.method == "POST" else 200
    return render(request, "stations/shifts_plan.html", {"form": form}, status=status)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def shift_new(request: HttpRequest) -> HttpResponse:
    """One shift of its own; two presses of the button add one."""
    now = timezone.now()
    zone = queries.zone(request.studio)
    form = NewShiftForm(
        request.POST if request.method == "POST" else None, zone=zone, initial={"day": studio_day(now, zone)}
    )
    if request.method == "POST" and form.is_valid():

        def work() -> dict[str, int]:
            return {"shift": actions.add_shift(span=form.span, now=now, by=request.user).pk}

        try:
            answer, _replayed = once(
                key=request.POST.get("key", ""),
                asker=f"member:{request.user.pk}",
                body={name: str(value) for name, value in form.cleaned_data.items()},
                now=now,
                work=work,
            )
        except Refused as refused:
            if not refused.refusal.code.startswith("stations."):
                raise
            form.add_error(None, str(say(refused.refusal)))
        else:
            messages.success(request, _("The shift is added, and nobody has it yet."))
            return redirect("shift", pk=answer["shift"])
    status = 422 if request.method == "POST" else 200
    return render(request, "stations/shift_new.html", {"form": form}, status=status)
