"""The rules of the house: read by everybody, set by managers."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from studiodesk.answers import Refused
from studiodesk.people import queries as people
from studiodesk.people.access import manager_page, member_page
from studiodesk.stations import queries as stations
from studiodesk.timekeeping import studio_day
from studiodesk.words import say

from .. import actions, queries
from ..rules import setting
from ..rules.house import Kind
from ..words.rule_sentences import RULES, sentences
from ..words.rules import amount_words
from .dates import studio_of
from .rule_form import FIELD_OF, RuleForm


def _cell(kind: Kind, standing: setting.Standing) -> dict[str, Any]:
    """What a table shows of one rule and plan."""
    return {
        "amount": amount_words(kind.code, kind.unit, standing.value),
        "since": standing.since if standing.since != setting.BEGINNING else None,
        "is_own": standing.is_own,
        "coming": [(change.day, amount_words(kind.code, kind.unit, change.value)) for change in standing.coming],
    }


def _plan_cell(line: queries.RuleLine, standing: setting.Standing) -> dict[str, Any]:
    """The same of a plan: what changes for everybody stands in their column."""
    cell = _cell(line.kind, standing)
    if not standing.is_own and standing.coming == line.everybody.coming:
        cell["coming"] = []
    return cell


@member_page
@require_safe
def house_rules(request: HttpRequest) -> HttpResponse:
    today = studio_day(timezone.now(), stations.zone(studio_of(request)))
    mine = people.membership_on(request.user, today)
    every = people.plans()
    plans = [one for one in every if one.in_use or request.user.is_manager or (mine and mine.plan_id == one.pk)]
    lines = queries.rule_lines(today, plans)
    column = next((number for number, plan in enumerate(plans) if mine and plan.pk == mine.plan_id), None)
    context = {
        "membership": mine,
        "plans": plans,
        "mine": sentences(
            {line.kind.code: (line.everybody if column is None else line.plans[column]).value for line in lines}
        ),
        "lines": [
            {
                "code": line.kind.code,
                "name": RULES[line.kind.code].name,
                "cells": [_cell(line.kind, line.everybody), *(_plan_cell(line, one) for one in line.plans)],
            }
            for line in lines
        ],
    }
    return render(request, "bookings/house_rules.html", context)


@manager_page
@require_http_methods(["GET", "HEAD", "POST"])
def house_rule(request: HttpRequest, code: str) -> HttpResponse:
    kind, now = queries.kind_of(code), timezone.now()
    if kind is None:
        raise Http404
    today = studio_day(now, stations.zone(studio_of(request)))
    plans = list(people.plans())
    rows = queries.rule_rows()
    holds = setting.standing(rows, kind, None, today)
    form = RuleForm(request.POST or None, kind=kind, plans=plans, value=holds.value, today=today)
    if request.method == "POST" and form.is_valid():
        try:
            row = actions.set_house_rule(
                code=code,
                plan=form.plan_row,
                value=form.value,
                in_force_from=form.cleaned_data["in_force_from"],
                now=now,
                by=request.user,
            )
        except Refused as refused:
            field = FIELD_OF.get(refused.refusal.code)
            form.add_error(field if field in form.fields else None, str(say(refused.refusal)))
        else:
            messages.success(request, _("Kept.") if row else _("That holds already; nothing was changed."))
            return redirect("house_rule", code=code)
    context = {
        "code": code,
        "form": form,
        "words": RULES[code],
        "now": [(_("Everybody"), _cell(kind, holds))]
        + [(plan.name, _cell(kind, setting.standing(rows, kind, plan.pk, today))) for plan in plans if kind.by_plan],
        "history": [
            {
                "row": row,
                "amount": amount_words(code, kind.unit, row.value),
                "is_coming": row.in_force_from > today,
                "from_the_beginning": row.in_force_from == setting.BEGINNING,
            }
            for row in queries.rule_history(code)
        ],
    }
    status = 422 if request.method == "POST" else 200
    return render(request, "bookings/house_rule.html", context, status=status)
