"""Reads of the stock: what is left of every lot, what is to be ordered, what has expired."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import QuerySet, Sum

from ..models import Lot, MixPart, Product, StockEntry
from ..rules import stock as rules

SHOWN = 40


@dataclass(frozen=True)
class LotLine:
    """A lot with what is left of it."""

    lot: Lot
    facts: rules.Lot
    today: date

    @property
    def left(self) -> Decimal:
        return self.facts.left

    @property
    def is_expired(self) -> bool:
        return rules.is_expired(self.facts, self.today)

    @property
    def good_until(self) -> date | None:
        return self.facts.good_until


@dataclass(frozen=True)
class ProductLine:
    """A product with its lots, those that are taken first before."""

    product: Product
    lots: list[LotLine]
    today: date

    @property
    def there(self) -> list[LotLine]:
        return [one for one in self.lots if one.left > 0]

    @property
    def left(self) -> Decimal:
        """Of what is good."""
        return sum((one.left for one in self.there if not one.is_expired), Decimal(0))

    @property
    def expired(self) -> list[LotLine]:
        return [one for one in self.there if one.is_expired]

    @property
    def is_to_reorder(self) -> bool:
        facts = [one.facts for one in self.lots]
        return self.product.in_use and rules.to_reorder(facts, self.product.reorder_at, self.today) is not None


def access_product(code: str) -> Product:
    return Product.objects.get(code=code)


def access_lot(pk: int) -> Lot:
    return Lot.objects.select_related("product").get(pk=pk)


def products() -> QuerySet[Product]:
    return Product.objects.order_by("name", "pk")


def left_of(lots: Iterable[Lot]) -> dict[int, Decimal]:
    """Lot id → what is left.  One query."""
    listed = list(lots)
    sums = dict(
        StockEntry.objects.filter(lot__in=[lot.pk for lot in listed])
        .order_by()
        .values_list("lot")
        .annotate(changed=Sum("change"))
    )
    return {lot.pk: lot.amount + (sums.get(lot.pk) or Decimal(0)) for lot in listed}


def facts_of(lots: Iterable[Lot]) -> list[rules.Lot]:
    """The lots as the rules ask them, first expired first; ``product`` is followed."""
    listed = list(lots)
    left = left_of(listed)
    return rules.first_out(
        rules.Lot(
            lot.pk,
            lot.code,
            left[lot.pk],
            lot.received_on,
            rules.good_until(lot.expires_on, lot.opened_on, lot.product.opened_life_s),
        )
        for lot in listed
    )


def product_lines(today: date, of: Iterable[Product] | None = None) -> list[ProductLine]:
    """Every product in use, or with something left of it, with its lots.  Three queries."""
    listed = list(products() if of is None else of)
    lots = list(Lot.objects.filter(product__in=[one.pk for one in listed]).select_related("product"))
    by_pk, by_product = {lot.pk: lot for lot in lots}, defaultdict(list)
    for facts in facts_of(lots):
        lot = by_pk[facts.pk]
        by_product[lot.product_id].append(LotLine(lot, facts, today))
    lines = [ProductLine(one, by_product[one.pk], today) for one in listed]
    return [line for line in lines if of is not None or line.product.in_use or line.there]


def entries_of(product: Product) -> list[StockEntry]:
    """What was written of its lots, the latest first; what was taken back stays out, with what took it back."""
    return list(
        StockEntry.objects.filter(lot__product=product, undoes=None, undone_by=None)
        .select_related("lot", "recorded_by")
        .order_by("-at", "-pk")[:SHOWN]
    )


def used_for(mix_number: int) -> QuerySet[StockEntry]:
    """What left the lots for this mix and was not taken back."""
    lots = MixPart.objects.filter(mix__number=mix_number, lot__isnull=False).values("lot")
    return StockEntry.objects.filter(
        lot__in=lots, event=StockEntry.Event.USED, note=str(mix_number), undoes=None, undone_by=None
    ).order_by("pk")
