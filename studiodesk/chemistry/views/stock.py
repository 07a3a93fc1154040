"""The stock: what is left, what came, what was counted, opened and thrown away."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from studiodesk.answers import Refused
from studiodesk.people.access import house_page
from studiodesk.stations import queries as house
from studiodesk.timekeeping import studio_day
from studiodesk.words import say

from .. import actions
from ..forms import AwayForm, CountForm, DeliveryForm
from ..models import Lot, Product
from ..queries import stock as reads
from ..rules.mixing import plain
from ..words.mixing import PRODUCT_SORTS, PRODUCT_UNITS, STOCK_EVENTS
from .common import answered_once, sent, studio_zone
from .kept import digits


def _today() -> Any:
    return studio_day(timezone.now(), studio_zone())


@require_safe
@house_page
def stock(request: HttpRequest) -> HttpResponse:
    """Every product with what is left, what has expired and what is to be ordered."""
    lines = [(line, PRODUCT_UNITS[line.product.unit]) for line in reads.product_lines(_today())]
    return render(request, "chemistry/stock.html", {"lines": lines})


@require_safe
@house_page
def stock_product(request: HttpRequest, code: str) -> HttpResponse:
    """One product: its lots, its hazard words, what was written of it."""
    try:
        product = reads.access_product(code)
    except Product.DoesNotExist as missing:
        raise Http404 from missing
    return _product(request, product)


def _product(request: HttpRequest, product: Product, wrong: AwayForm | None = None, of: int = 0) -> HttpResponse:
    [line] = reads.product_lines(_today(), of=[product])
    lots = [
        {
            "line": one,
            "form": wrong if one.lot.pk == of else AwayForm(lot=one.lot.pk, initial={"amount": plain(one.left)}),
            "price": _price(one.lot.price_minor),
        }
        for one in line.lots
    ]
    context = {
        "product": product,
        "line": line,
        "unit": PRODUCT_UNITS[product.unit],
        "sort": PRODUCT_SORTS[product.sort],
        "there": [one for one in lots if one["line"].left > 0],  # type: ignore[union-attr]
        "gone": [one for one in lots if one["line"].left <= 0],  # type: ignore[union-attr]
        "entries": [(one, STOCK_EVENTS[one.event]) for one in reads.entries_of(product)],
        "price": _price(product.price_minor),
        "wrong": wrong,
    }
    return render(request, "chemistry/stock_product.html", context, status=200 if wrong is None else 422)


def _price(minor: int | None) -> str:
    """ "41.00 EUR"; "" if it is not known."""
    studio = house.studio_or_none()
    return "" if minor is None or studio is None else f"{Decimal(minor).scaleb(-digits())} {studio.currency}"


def _lot(pk: int) -> Lot:
    try:
        return reads.access_lot(pk)
    except Lot.DoesNotExist as missing:
        raise Http404 from missing


@require_POST
@house_page
def lot_open(request: HttpRequest, pk: int) -> HttpResponse:
    """A pack of it was opened today."""
    lot = _lot(pk)
    try:
        actions.open_lot(lot=lot, opened_on=_today(), now=timezone.now(), by=request.user)
    except Refused as refused:
        messages.error(request, str(say(refused.refusal)))
    else:
        messages.success(request, _("Opened today: lot %(lot)s.") % {"lot": lot.code})
    return redirect("stock_product", code=lot.product.code)


@require_POST
@house_page
def lot_away(request: HttpRequest, pk: int) -> HttpResponse:
    """Something of it, or all that is left, is gone."""
    lot, now = _lot(pk), timezone.now()
    form = AwayForm(request.POST, lot=lot.pk)
    if form.is_valid():
        data = form.cleaned_data

        def work() -> dict[str, Any]:
            made = actions.throw_away(lot=lot, amount=data["amount"], reason=data["note"], now=now, by=request.user)
            return {"entry": made.pk}

        try:
            answered_once(request, sent(request), now, work)
        except Refused as refused:
            form.refuse(refused.refusal)
        else:
            messages.success(request, _("Written down: lot %(lot)s.") % {"lot": lot.code})
            return redirect("stock_product", code=lot.product.code)
    return _product(request, lot.product, form, lot.pk)


@require_http_methods(["GET", "HEAD", "POST"])
@house_page
def delivery(request: HttpRequest) -> HttpResponse:
    """What came, lot by lot."""
    now = timezone.now()
    given: dict[str, Any] = {"products": list(reads.products().filter(in_use=True)), "digits": digits()}
    status = 200
    if request.method == "POST":
        form = DeliveryForm(request.POST, **given)
        if form.is_valid():
            try:
                answer = answered_once(request, sent(request), now, lambda: _receive(request, form, now))
            except Refused as refused:
                form.refuse(refused.refusal)
            else:
                said = ngettext("%(lots)s lot is in stock.", "%(lots)s lots are in stock.", answer["lots"])
                messages.success(request, said % {"lots": answer["lots"]})
                return redirect("stock")
        status = 422
    else:
        form = DeliveryForm(initial={"received_on": _today()}, **given)
    page = {
        "title": _("A delivery"),
        "why": _("Read the safety data sheet of what is new before it is opened."),
        "button": _("It came"),
        "groups": form.groups(),
    }
    return _form(request, form, page, status)


def _receive(request: HttpRequest, form: DeliveryForm, now: datetime) -> dict[str, Any]:
    data = form.cleaned_data
    plain = {name: data[name] for name in ("received_on", "delivery", "place")}
    return {"lots": len(actions.receive(lots=form.lots(), now=now, by=request.user, **plain))}


@require_http_methods(["GET", "HEAD", "POST"])
@house_page
def stock_count(request: HttpRequest) -> HttpResponse:
    """A stock-take: whatever is written is what was found."""
    now = timezone.now()
    lines = [one for line in reads.product_lines(_today()) for one in line.there]
    form = CountForm(request.POST if request.method == "POST" else None, lines=lines)
    status = 200
    if request.method == "POST":
        if form.is_valid():
            try:
                answer = answered_once(request, sent(request), now, lambda: _count(request, form, now))
            except Refused as refused:
                form.refuse(refused.refusal)
            else:
                said = ngettext("%(lots)s lot was counted", "%(lots)s lots were counted", answer["lots"])
                other = ngettext("%(lots)s differed.", "%(lots)s differed.", answer["differed"])
                counts = said % {"lots": answer["lots"]}, other % {"lots": answer["differed"]}
                messages.success(request, ", ".join(counts))
                return redirect("stock")
        status = 422
    page = {
        "title": _("Count the stock"),
        "why": _("Write what you find; what you leave empty was not counted. The difference is kept."),
        "button": _("That was found"),
        "groups": [("", list(form.visible_fields()))],
    }
    return _form(request, form, page, status)


def _count(request: HttpRequest, form: CountForm, now: datetime) -> dict[str, Any]:
    found = actions.count_lots(counted=form.counted(), now=now, by=request.user, note=form.cleaned_data["note"])
    return {"lots": len(found), "differed": sum(1 for one in found if one.change)}


def _form(request: HttpRequest, form: Any, page: dict[str, Any], status: int) -> HttpResponse:
    context = {"form": form, "back": reverse("stock"), "back_words": _("Stock"), **page}
    return render(request, "chemistry/stock_form.html", context, status=status)
