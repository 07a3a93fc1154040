"""Which memberships there are, and whose run out."""

from __future__ import annotations

from datetime import timedelta

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studiodesk.answers import Refused
from studiodesk.words import say

from .. import actions, queries
from ..access import manager_page, staff_page
from ..forms import PlanForm

#: How far ahead the page looks for memberships that run out.
LOOK_AHEAD = timedelta(days=30)


@staff_page
@require_safe
def memberships(request: HttpRequest) -> HttpResponse:
    today = timezone.localtime(timezone.now()).date()
    context = {
        "plans": queries.plans_with_counts(today),
        "ending": queries.running_out(today, today + LOOK_AHEAD),
        "until": today + LOOK_AHEAD,
    }
    return render(request, "people/memberships.html", context)


@manager_page
@require_http_methods(["GET", "HEAD", "POST"])
def plan_new(request: HttpRequest) -> HttpResponse:
    form = PlanForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            plan = actions.make_plan(**form.cleaned_data, now=timezone.now(), by=request.user)
        except Refused as refused:
            fields = {"people.plan_code_taken": "code", "people.plan_name_taken": "name"}
            form.add_error(fields.get(refused.refusal.code), str(say(refused.refusal)))
        else:
            messages.success(request, _("“%(name)s” can be given from now on.") % {"name": plan.name})
            return redirect("memberships")
    status = 422 if request.method == "POST" else 200
    return render(request, "people/plan_new.html", {"form": form}, status=status)


@manager_page
@require_POST
def plan_in_use(request: HttpRequest, code: str) -> HttpResponse:
    """``in_use`` 1 or 0: it can be given again, or no longer."""
    plan = queries.plan_named(code)
    if plan is None:
        raise Http404
    in_use = request.POST.get("in_use") == "1"
    actions.set_plan_in_use(plan=plan, in_use=in_use, now=timezone.now(), by=request.user)
    said = _("“%(name)s” can be given again.") if in_use else _("“%(name)s” is given to nobody any more.")
    messages.success(request, said % {"name": plan.name})
    return redirect("memberships")
