"""Products, deliveries, counting, and what is thrown away."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from studiodesk.bookings.forms.inputs import DateInput
from studiodesk.units import minor_from_major

from ..actions import Came
from ..models import Product
from ..queries.stock import LotLine
from ..rules.mixing import plain
from ..words.mixing import PRODUCT_SORTS, PRODUCT_UNITS
from .base import ChemistryForm
from .mixing import AMOUNT

DAY_S = 86_400
LINES = 4
MONEY: dict[str, Any] = {"required": False, "min_value": 0, "max_digits": 12, "decimal_places": 3}


class ProductForm(ChemistryForm):
    """A product as staff keep it."""

    name = forms.CharField(label=_("What it is called"), max_length=120)
    sort = forms.ChoiceField(label=_("What it is"), choices=list(PRODUCT_SORTS.items()))
    unit = forms.ChoiceField(label=_("Counted in"), choices=list(PRODUCT_UNITS.items()))
    pack_amount = forms.DecimalField(label=_("In one pack"), **AMOUNT)
    price = forms.DecimalField(label=_("Price of one pack"), **MONEY)
    hazard_words = forms.CharField(
        label=_("Hazard words"),
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_("As the supplier's current safety data sheet gives them."),
    )
    sheet_seen_on = forms.DateField(label=_("Data sheet read on"), required=False, widget=DateInput())
    opened_days = forms.IntegerField(
        label=_("Keeps so many days once it is opened"), required=False, min_value=1, max_value=3660
    )
    reorder_at = forms.DecimalField(label=_("Order again when so much is left"), required=False, **AMOUNT)
    in_use = forms.BooleanField(label=_("It is used"), required=False, initial=True)

    def __init__(self, *args: Any, digits: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.digits = digits

    @staticmethod
    def written(product: Product, digits: int) -> dict[str, Any]:
        """What is kept, as the fields would have been written."""
        names = ("name", "sort", "unit", "hazard_words", "sheet_seen_on", "in_use")
        price, life, reorder = product.price_minor, product.opened_life_s, product.reorder_at
        return {name: getattr(product, name) for name in names} | {
            "pack_amount": plain(product.pack_amount),
            "reorder_at": "" if reorder is None else plain(reorder),
            "price": None if price is None else Decimal(price).scaleb(-digits),
            "opened_days": None if life is None else life // DAY_S,
        }

    def values(self) -> dict[str, Any]:
        """The act's arguments but for the code."""
        data = dict(self.cleaned_data)
        price, days = data.pop("price"), data.pop("opened_days")
        data["price_minor"] = None if price is None else minor_from_major(price, self.digits)
        data["opened_life_s"] = None if days is None else days * DAY_S
        return data


class DeliveryForm(ChemistryForm):
    """A delivery with several lots; a line without a product does not count."""

    received_on = forms.DateField(label=_("Came on"), widget=DateInput())
    delivery = forms.CharField(label=_("Delivery note"), required=False, max_length=120)
    place = forms.CharField(label=_("Where it stands"), required=False, max_length=120)

    def __init__(self, *args: Any, products: Sequence[Product], digits: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.products = {one.code: one for one in products}
        self.digits = digits
        named = ((one.code, f"{one.name} ({PRODUCT_UNITS[one.unit]})") for one in products)
        choices = [("", _("Nothing")), *named]
        for n in range(1, LINES + 1):
            self.fields[f"product{n}"] = forms.ChoiceField(label=_("Product"), required=False, choices=choices)
            self.fields[f"code{n}"] = forms.CharField(label=_("Batch number"), required=False, max_length=60)
            self.fields[f"amount{n}"] = forms.DecimalField(
                label=_("How much in all"), required=False, help_text=_("Left empty: one pack."), **AMOUNT
            )
            self.fields[f"expires{n}"] = forms.DateField(label=_("Use by"), required=False, widget=DateInput())
            self.fields[f"price{n}"] = forms.DecimalField(label=_("Price of all of it"), **MONEY)

    def groups(self) -> list[tuple[str, list[Any]]]:
        own = [self[name] for name in self.base_fields]
        names = ("product", "code", "amount", "expires", "price")
        return [
            ("", own),
            *(
                (gettext("Lot %(number)s") % {"number": n}, [self[f"{name}{n}"] for name in names])
                for n in range(1, LINES + 1)
            ),
        ]

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = self.cleaned_data
        for n in range(1, LINES + 1):
            written = [data.get(f"{name}{n}") not in (None, "") for name in ("code", "amount", "expires", "price")]
            if any(written) and not data.get(f"product{n}") and f"product{n}" not in self.errors:
                self.add_error(f"product{n}", ValidationError(_("Say which product came.")))
        return data

    def lots(self) -> list[Came]:
        data, out = self.cleaned_data, []
        for n in range(1, LINES + 1):
            product = self.products.get(data[f"product{n}"] or "")
            if product is not None:
                amount, price = data[f"amount{n}"], data[f"price{n}"]
                out.append(
                    Came(
                        product,
                        data[f"code{n}"],
                        product.pack_amount if amount is None else amount,
                        data[f"expires{n}"],
                        None if price is None else minor_from_major(price, self.digits),
                    )
                )
        return out


class CountForm(ChemistryForm):
    """A stock-take: one field a lot; what is left empty was not counted."""

    def __init__(self, *args: Any, lines: Sequence[LotLine], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lines = list(lines)
        for one in lines:
            product = one.lot.product
            words = {"product": product.name, "lot": one.lot.code, "unit": PRODUCT_UNITS[product.unit]}
            there = {"left": plain(one.left), "unit": PRODUCT_UNITS[product.unit]}
            self.fields[f"lot{one.lot.pk}"] = forms.DecimalField(
                label=_("%(product)s, lot %(lot)s, in %(unit)s") % words,
                required=False,
                help_text=_("By the book: %(left)s %(unit)s.") % there,
                **AMOUNT,
            )
        self.fields["note"] = forms.CharField(label=_("Note"), required=False, max_length=500)

    def counted(self) -> dict[int, Decimal]:
        found = {one.lot.pk: self.cleaned_data[f"lot{one.lot.pk}"] for one in self.lines}
        return {pk: amount for pk, amount in found.items() if amount is not None}


class AwayForm(ChemistryForm):
    """Something of one lot is gone."""

    amount = forms.DecimalField(label=_("How much of it"), **AMOUNT)
    note = forms.CharField(label=_("Why, and into which waste container"), max_length=500)

    def __init__(self, *args: Any, lot: int, **kwargs: Any) -> None:
        super().__init__(*args, prefix=f"lot-{lot}", **kwargs)
