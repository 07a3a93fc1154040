"""What staff keep for mixing: recipes, containers and products."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.db.models import Model
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from studiodesk.answers import Refused
from studiodesk.people.access import staff_page
from studiodesk.stations import queries as house
from studiodesk.units import PL_PER_L

from .. import actions, queries
from ..forms import ChemistryForm, ContainerForm, ProductForm, RecipeForm
from ..models import Container, Product, Recipe, WasteStream
from ..queries import mixing as reads
from ..queries import stock as stock_reads
from ..rules.mixing import plain
from .common import answered_once, sent
from .mixing import recipe_of

#: Words that stand in addresses where a code does.
RESERVED = frozenset({"new", "mix", "container", "delivery", "count", "lot"})


def code_for(model: type[Model], name: str, otherwise: str) -> str:
    """A code that nothing of this kind has yet, made of the name: at most 30 characters."""
    stem = slugify(name)[:26] or otherwise
    code, number = stem, 1
    while code in RESERVED or model._default_manager.filter(code=code).exists():
        number += 1
        code = f"{stem}-{number}"
    return code


def digits() -> int:
    studio = house.studio_or_none()
    return studio.currency_digits if studio else 2


def _keep(
    request: HttpRequest,
    form: ChemistryForm,
    page: dict[str, Any],
    write: Callable[[datetime], Any],
    way: Callable[[str], str],
) -> HttpResponse:
    """Show the form, or write what it says and go on; ``page``: title, back, back_words, button, groups."""
    status = 200
    if request.method == "POST":
        if form.is_valid():
            now = timezone.now()
            try:
                answer = answered_once(request, sent(request), now, lambda: {"code": write(now)[0].code})
            except Refused as refused:
                form.refuse(refused.refusal)
            else:
                messages.success(request, _("Kept."))
                return redirect(way(answer["code"]))
        status = 422
    groups = form.groups() if isinstance(form, RecipeForm) else [("", list(form.visible_fields()))]
    return render(request, "chemistry/stock_form.html", {"form": form, "groups": groups, **page}, status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def recipe_new(request: HttpRequest) -> HttpResponse:
    return _recipe(request, None)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def recipe_edit(request: HttpRequest, code: str) -> HttpResponse:
    return _recipe(request, recipe_of(code))


def _recipe(request: HttpRequest, row: Recipe | None) -> HttpResponse:
    parts = row.parts.count() if row is not None else 4
    given = {"products": list(stock_reads.products()), "streams": list(WasteStream.objects.all()), "parts": parts}
    if request.method == "POST":
        form = RecipeForm(request.POST, **given)
    else:
        start = {"in_use": True, "unit": "L", "makes": 1} if row is None else RecipeForm.written(row)
        form = RecipeForm(initial=start, **given)

    def write(now: datetime) -> Any:
        code = row.code if row is not None else code_for(Recipe, form.cleaned_data["name"], "recipe")
        return actions.keep_recipe(code=code, now=now, by=request.user, **form.values())

    page = {
        "title": row.name if row else _("A recipe"),
        "why": _("The figures are those of the product's data sheet: say under “Where the figures come from” which."),
        "back": reverse("mixing"),
        "back_words": _("Mixing"),
        "button": _("Keep the recipe"),
    }
    return _keep(request, form, page, write, lambda code: reverse("mixing_recipe", args=[code]))


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def container_new(request: HttpRequest) -> HttpResponse:
    return _container(request, None)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def container_edit(request: HttpRequest, code: str) -> HttpResponse:
    try:
        return _container(request, reads.access_container(code))
    except Container.DoesNotExist as missing:
        raise Http404 from missing


def _container(request: HttpRequest, row: Container | None) -> HttpResponse:
    given = {"streams": list(WasteStream.objects.all()), "baths": list(queries.baths())}
    if request.method == "POST":
        form = ContainerForm(request.POST, **given)
    else:
        start: dict[str, Any] = {"in_use": True}
        if row is not None:
            start = {name: getattr(row, name) for name in ("name", "sort", "place", "in_use")}
            start["capacity"] = plain(Decimal(row.capacity_pl) / PL_PER_L)
            start["stream"] = row.stream.code if row.stream else ""
            bath = row.feeds_bath
            start["bath"] = f"{bath.processor.code}/{bath.code}" if bath else ""
        form = ContainerForm(initial=start, **given)

    def write(now: datetime) -> Any:
        code = row.code if row is not None else code_for(Container, form.cleaned_data["name"], "container")
        return actions.keep_container(code=code, now=now, by=request.user, **form.values())

    page = {
        "title": row.name if row else _("A container"),
        "why": _("Marked, and never one in which food or drink was or will be."),
        "back": reverse("mixing"),
        "back_words": _("Mixing"),
        "button": _("Keep the container"),
    }
    return _keep(request, form, page, write, lambda code: reverse("container", args=[code]))


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def product_new(request: HttpRequest) -> HttpResponse:
    return _product(request, None)


@require_http_methods(["GET", "HEAD", "POST"])
@staff_page
def product_edit(request: HttpRequest, code: str) -> HttpResponse:
    try:
        return _product(request, stock_reads.access_product(code))
    except Product.DoesNotExist as missing:
        raise Http404 from missing


def _product(request: HttpRequest, row: Product | None) -> HttpResponse:
    if request.method == "POST":
        form = ProductForm(request.POST, digits=digits())
    else:
        start = {"in_use": True} if row is None else ProductForm.written(row, digits())
        form = ProductForm(initial=start, digits=digits())

    def write(now: datetime) -> Any:
        code = row.code if row is not None else code_for(Product, form.cleaned_data["name"], "product")
        return actions.keep_product(code=code, now=now, by=request.user, **form.values())

    page = {
        "title": row.name if row else _("A product"),
        "why": _("Its hazard words are those of the supplier's current safety data sheet, word for word."),
        "back": reverse("stock"),
        "back_words": _("Stock"),
        "button": _("Keep the product"),
    }
    return _keep(request, form, page, write, lambda code: reverse("stock_product", args=[code]))
