"""Staff give memberships and day passes, end them, and write down what else the house has to know of somebody."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from studiodesk.answers import Refused
from studiodesk.journal.actions import once
from studiodesk.people import actions, forms
from studiodesk.people import queries as people
from studiodesk.people.access import staff_page
from studiodesk.people.models import Member, Membership, MembershipPlan
from studiodesk.words import say

from .. import queries
from ..words import ended_words, given_words
from .persons import person_named


def _given_once(
    request: HttpRequest, person: Member, plan: MembershipPlan, first: date, last: date | None
) -> tuple[str, bool]:
    """Give it, or give the same answer to a second press; what is said of it, and whether it was a second press."""
    now = timezone.now()

    def work() -> dict[str, Any]:
        made = actions.give_membership(
            member=person, plan=plan, first_day=first, last_day=last, now=now, by=request.user
        )
        return {"membership": made.pk}

    body = {"person": person.pk, "plan": plan.code, "first": str(first), "last": str(last)}
    key, asker = request.POST.get("key", ""), f"member {request.user.pk}"
    _answer, replayed = once(key=key, asker=asker, body=body, now=now, work=work)
    return given_words(person.name, plan.name, first, last if not plan.is_day_pass else first), replayed


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def person_membership(request: HttpRequest, number: str) -> HttpResponse:
    person, now = person_named(request, number), timezone.now()
    plans = list(people.plans(in_use=True))
    form = forms.MembershipForm(request.POST or None, plans=plans, today=timezone.localtime(now).date())
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            said, replayed = _given_once(request, person, form.plan_row, data["first_day"], data["last_day"])
        except Refused as refused:
            if not refused.refusal.code.startswith("people."):
                raise
            form.add_error(forms.FIELD_OF.get(refused.refusal.code), str(say(refused.refusal)))
        else:
            if not replayed:
                messages.success(request, said)
            return redirect("person_membership", number=person.number)
    context = {"person": person, "form": form, "plans": plans, "spells": queries.spells(person, now)}
    status = 422 if request.method == "POST" else 200
    return render(request, "desk/person_membership.html", context, status=status)


@staff_page
@require_POST
def day_pass(request: HttpRequest, number: str) -> HttpResponse:
    """A day pass for today in one tap; ``plan`` is the code of the pass."""
    person, plan = person_named(request, number), people.plan_named(request.POST.get("plan", "")[:30])
    if plan is None or not plan.is_day_pass:
        raise Http404
    today = timezone.localtime(timezone.now()).date()
    said, replayed = _given_once(request, person, plan, today, today)
    if not replayed:
        messages.success(request, said)
    return redirect("person", number=person.number)


def _membership(request: HttpRequest, number: str, pk: int) -> Membership:
    try:
        found = people.access_membership(request.user, pk)
    except Membership.DoesNotExist as missing:
        raise Http404 from missing
    if found.member.number != number:
        raise Http404
    return found


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def membership_end(request: HttpRequest, number: str, pk: int) -> HttpResponse:
    found, now = _membership(request, number, pk), timezone.now()
    today = max(timezone.localtime(now).date(), found.first_day)
    on = today if found.last_day is None else min(today, found.last_day)
    form = forms.EndMembershipForm(request.POST or None, initial={"on": on})
    if request.method == "POST" and form.is_valid():
        day = form.cleaned_data["on"]
        try:
            actions.end_membership(membership=found, on=day, now=now, by=request.user)
        except Refused as refused:
            form.add_error("on", str(say(refused.refusal)))
        else:
            after = len(queries.booked_after(found.member, day, now))
            messages.success(request, ended_words(found.plan.name, day, after))
            return redirect("person_membership", number=number)
    status = 422 if request.method == "POST" else 200
    context = {"person": found.member, "membership": found, "form": form}
    return render(request, "desk/membership_end.html", context, status=status)


@staff_page
@require_POST
def membership_take_back(request: HttpRequest, number: str, pk: int) -> HttpResponse:
    """Given by mistake.  What is gone already is not found any more: then there is nothing left to do."""
    try:
        found = _membership(request, number, pk)
    except Http404:
        return redirect("person_membership", number=person_named(request, number).number)
    actions.take_back_membership(membership=found, now=timezone.now(), by=request.user)
    messages.success(request, _("“%(plan)s” is taken back.") % {"plan": found.plan.name})
    return redirect("person", number=number)


@staff_page
@require_http_methods(["GET", "HEAD", "POST"])
def person_facts(request: HttpRequest, number: str) -> HttpResponse:
    person = person_named(request, number)
    before = {name: getattr(person, name) for name in forms.FactsForm.base_fields}
    form = forms.FactsForm(request.POST if request.method == "POST" else None, initial=before)
    if request.method == "POST" and form.is_valid():
        try:
            actions.set_person_facts(person=person, **form.cleaned_data, now=timezone.now(), by=request.user)
        except Refused as refused:
            form.add_error(refused.refusal.facts.get("field"), str(say(refused.refusal)))
        else:
            messages.success(request, _("Kept."))
            return redirect("person", number=person.number)
    status = 422 if request.method == "POST" else 200
    return render(request, "desk/person_facts.html", {"person": person, "form": form}, status=status)
