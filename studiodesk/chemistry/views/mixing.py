"""Mixing: what can be mixed, the page to be read while mixing, and the label of what was mixed."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studiodesk.answers import Refused
from studiodesk.people.access import house_page
from studiodesk.timekeeping import studio_day
from studiodesk.units import PL_PER_UNIT
from studiodesk.words import say

from .. import actions
from ..forms import AmountForm, MixForm
from ..models import Mix, Recipe
from ..queries import mixing as reads
from ..queries.mixing_steps import least_of, steps_of
from ..rules import mixing as rules
from ..words.mixing import PRODUCT_UNITS, USES_SHORT
from .common import answered_once, sent, studio_zone


@require_safe
@house_page
def mixing(request: HttpRequest) -> HttpResponse:
    """Recipes in use, the containers with what is in them, what was mixed lately."""
    now = timezone.now()
    boxes = list(reads.contents(reads.containers(), now).values())
    context = {
        "recipes": [(one, USES_SHORT[one.use]) for one in reads.recipes() if one.in_use or request.user.is_staff],
        "containers": [one for one in boxes if one.container.in_use],
        "unused": [one for one in boxes if not one.container.in_use],
        "mixes": reads.latest_mixes(),
    }
    return render(request, "chemistry/mixing.html", context)


def recipe_of(code: str) -> Recipe:
    try:
        return reads.access_recipe(code)
    except Recipe.DoesNotExist as missing:
        raise Http404 from missing


@require_http_methods(["GET", "HEAD", "POST"])
@house_page
def mixing_recipe(request: HttpRequest, code: str) -> HttpResponse:
    """Without an amount: how much?  With one: the steps, and the form for what was measured."""
    recipe, now = recipe_of(code), timezone.now()
    one_shot = recipe.use == Recipe.Use.ONE_SHOT
    written = request.POST if request.method == "POST" else request.GET
    if "amount" not in written:
        status = 422 if request.method == "POST" else 200
        return _ask_amount(request, recipe, AmountForm(one_shot=one_shot, initial=_usual(recipe)), status)
    asking = AmountForm(written, one_shot=one_shot)
    if asking.is_valid() and (refusal := rules.asking_refusal(asking.asked_pl)):
        asking.refuse(refusal)
    if asking.errors:
        return _ask_amount(request, recipe, asking, 422)
    return _mix(request, recipe, asking, now)


def _usual(recipe: Recipe) -> dict[str, Any]:
    unit = "L" if recipe.makes_pl >= PL_PER_UNIT["L"] else "mL"
    return {"amount": rules.plain(Decimal(recipe.makes_pl) / PL_PER_UNIT[unit]), "unit": unit, "units": 1}


def _ask_amount(request: HttpRequest, recipe: Recipe, form: AmountForm, status: int) -> HttpResponse:
    context = {"recipe": recipe, "use": USES_SHORT[recipe.use], "form": form}
    return render(request, "chemistry/mixing_amount.html", context, status=status)


def _mix(request: HttpRequest, recipe: Recipe, asking: AmountForm, now: datetime) -> HttpResponse:
    steps = steps_of(recipe, asking.asked_pl, studio_day(now, studio_zone()))
    asked = {name: asking.cleaned_data[name] for name in ("amount", "unit")}
    units = asking.cleaned_data.get("units")
    boxes = [one for one in reads.contents(reads.containers(), now).values() if one.container.in_use]
    fitting = [one for one in boxes if one.mix is None and one.room_pl >= asking.asked_pl]
    status = 200
    if request.method == "POST":
        form = MixForm(request.POST, steps=steps, containers=boxes)
        if form.is_valid():
            try:
                answer = answered_once(request, sent(request), now, lambda: _write(request, recipe, form, now))
            except Refused as refused:
                form.refuse(refused.refusal)
            else:
                messages.success(request, _("Written down: mix %(number)s.") % {"number": answer["mix"]})
                return redirect("mix_label", number=answer["mix"])
        status = 422
    else:
        form = MixForm(
            steps=steps, containers=fitting, initial={**asked, "at": now, "made": rules.plain(asked["amount"])}
        )
    context = {
        "recipe": recipe,
        "use": USES_SHORT[recipe.use],
        "form": form,
        "steps": steps,
        "asked": asked,
        "asked_pl": asking.asked_pl,
        "units": units or 1,
        "least": least_of(recipe, steps, units),
        "is_too_small": rules.is_too_small([step.measure for step in steps], asking.asked_pl),
        "doubt": rules.doubt_amount(asking.asked_pl, recipe.makes_pl),
    }
    return render(request, "chemistry/mixing_recipe.html", context, status=status)


def _write(request: HttpRequest, recipe: Recipe, form: MixForm, now: datetime) -> dict[str, Any]:
    values = form.values()
    form.ask_again_about(values["at"], now)
    form.ask_again(rules.doubt_amount(values["asked_pl"], recipe.makes_pl))
    expired_too = "chemistry.only_expired" in form.sure_so_far.split("|")
    made = actions.mix(recipe=recipe, now=now, by=request.user, expired_too=expired_too, **values)
    return {"mix": made.number}


def _mix_of(number: int) -> Mix:
    try:
        return reads.access_mix(number)
    except Mix.DoesNotExist as missing:
        raise Http404 from missing


@require_safe
@house_page
def mix_label(request: HttpRequest, number: int) -> HttpResponse:
    """The label, which is all that prints, and what went into the mix."""
    now = timezone.now()
    mix = _mix_of(number)
    where = reads.where_is(mix, now)
    parts = [(part, PRODUCT_UNITS[part.product.unit if part.product else rules.ML]) for part in mix.parts.all()]
    products = {part.product_id: part.product for part, _unit in parts if part.product}
    context = {
        "mix": mix,
        "parts": parts,
        "where": where,
        "use_by": reads.label_use_by(mix, now),
        "is_unknown": any(one.use_by is None or one.is_unknown for one in where),
        "went": reads.went_into(mix),
        "products": [one for one in products.values() if one.hazard_words],
        "may_take_back": mix.undone_at is None
        and studio_day(mix.recorded_at, studio_zone()) == studio_day(now, studio_zone()),
    }
    return render(request, "chemistry/mix_label.html", context)


@require_POST
@house_page
def mix_undo(request: HttpRequest, number: int) -> HttpResponse:
    """It was not mixed."""
    mix = _mix_of(number)
    try:
        actions.take_back_mix(mix=mix, now=timezone.now(), by=request.user)
    except Refused as refused:
        messages.error(request, str(say(refused.refusal)))
    else:
        messages.success(request, _("Taken back: mix %(number)s. What it took is in stock again.") % {"number": number})
    return redirect("mix_label", number=number)
