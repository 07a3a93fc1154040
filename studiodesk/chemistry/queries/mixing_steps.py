"""The steps of a mixing as its page shows them: how much of what, from which lots, with the caution of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from studiodesk.answers import Refusal
from studiodesk.words import say

from ..models import Product, Recipe, RecipePart
from ..rules import mixing as rules
from ..rules import stock as stock_rules
from ..words.mixing import PRODUCT_UNITS
from .mixing import measures_of
from .stock import LotLine, ProductLine, product_lines


@dataclass(frozen=True)
class Step:
    """One part for the amount asked; ``lots``: from where it is taken; ``short``: what the stock says against it."""

    part: RecipePart
    measure: rules.Measure
    lots: Sequence[tuple[LotLine, Decimal]] = ()
    short: str = ""

    @property
    def position(self) -> int:
        return self.part.position

    @property
    def is_mark(self) -> bool:
        return self.part.make_up

    @property
    def name(self) -> str:
        return self.part.product.name if self.part.product else _("Water")

    @property
    def unit(self) -> Any:
        return PRODUCT_UNITS[self.measure.part.unit]

    @property
    def rounded(self) -> Decimal:
        return self.measure.rounded

    @property
    def exact(self) -> Decimal:
        """To three decimals: nobody reads more."""
        return round(self.measure.asked, 3)

    @property
    def is_rounded(self) -> bool:
        return self.exact != self.rounded

    @property
    def off_percent(self) -> Decimal:
        return round(Decimal(float(self.measure.off * 100)), 1)

    @property
    def is_powder(self) -> bool:
        return self.part.product is not None and self.part.product.sort == Product.Sort.POWDER


def steps_of(recipe: Recipe, asked_pl: int, today: date) -> list[Step]:
    """Every part in order, the lots as the mix would take them if it were mixed now."""
    parts = {part.position: part for part in recipe.parts.all()}
    stock = _stock_of(recipe, today)
    left = {one.lot.pk: one.facts for line in stock.values() for one in line.lots}
    out = []
    for measure in measures_of(recipe, asked_pl):
        part = parts[measure.part.position]
        line = stock.get(part.product_id or 0)
        if line is None or part.product is None:
            out.append(Step(part, measure))
            continue
        of_product = [left[one.lot.pk] for one in line.lots]
        name, unit = part.product.name, part.product.unit
        found = stock_rules.chosen(name, unit, of_product, measure.rounded, today, expired_too=False)
        if isinstance(found, Refusal):
            out.append(Step(part, measure, short=say(found).sentence))
            continue
        by_pk = {one.lot.pk: one for one in line.lots}
        for facts, some in found:
            left[facts.pk] = stock_rules.less(facts, some)
        out.append(Step(part, measure, [(by_pk[facts.pk], some) for facts, some in found]))
    return out


def least_of(recipe: Recipe, steps: Sequence[Step], units: int | None) -> rules.LeastFor | None:
    """Of what is used once: is there enough concentrate for so many rolls or sheets?"""
    if recipe.use != Recipe.Use.ONE_SHOT:
        return None
    return rules.least_for([step.measure for step in steps], recipe.least_per_unit_pl, units or 1)


def _stock_of(recipe: Recipe, today: date) -> dict[int, ProductLine]:
    wanted = {part.product_id: part.product for part in recipe.parts.all() if part.product}
    return {line.product.pk: line for line in product_lines(today, of=wanted.values())}
