"""Keeping recipes: how a solution is mixed, and how long it lasts in each state."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from studiodesk.acts import act, locked
from studiodesk.answers import Refusal, Refused, refuse
from studiodesk.journal.actions import record

from ..models import Product, Recipe, RecipeLife, RecipePart
from ..queries import mixing as reads
from ..rules import mixing as rules

KEPT = (
    "name",
    "use",
    "makes_pl",
    "ratio",
    "least_per_unit_pl",
    "stream",
    "hazard_words",
    "protection",
    "source",
    "in_use",
)


@dataclass(frozen=True)
class PartOf:
    """One step: so much of a product, of water (``product`` None), or water up to the mark (``make_up``)."""

    product: Product | None = None
    amount: Decimal | None = None
    make_up: bool = False
    rounds_to: Decimal | None = None
    instruction: str = ""
    caution: str = ""

    def facts(self, position: int) -> rules.Part:
        unit = self.product.unit if self.product else rules.ML
        return rules.Part(position, self.amount, unit, self.make_up, self.product is None, self.rounds_to)


@act
def keep_recipe(
    *,
    code: str,
    name: str,
    makes_pl: int,
    parts: Sequence[PartOf],
    now: datetime,
    by: Any = None,
    use: str = Recipe.Use.WORKING,
    ratio: str = "",
    lives: Mapping[str, int] | None = None,
    least_per_unit_pl: int | None = None,
    stream: Any = None,
    hazard_words: str = "",
    protection: str = "",
    source: str = "",
    in_use: bool = True,
) -> tuple[Recipe, bool]:
    """A recipe with this code, made or changed; answers the row and whether anything changed.

    ``lives``: state → seconds.  What was mixed from it before keeps what it was mixed of.  Refused:
    chemistry.recipe_needs_name, mix_amount, recipe_needs_parts, part_needs_amount, one_mark_only, parts_too_much,
    ratio_unreadable, ratio_ambiguous, ratio_does_not_fit, life_too_short.
    """
    if use not in Recipe.Use.values:
        raise ValueError(f"no such use: {use!r}")
    kept = _with_ratio(parts, makes_pl, ratio)
    for number, part in enumerate(kept, 1):
        if not part.make_up and (part.amount is None or part.amount <= 0):
            refuse("chemistry.part_needs_amount", position=number)
    refusal = rules.describing_refusal(name, makes_pl, [one.facts(n) for n, one in enumerate(kept, 1)], ratio)
    if refusal:
        raise Refused(refusal)
    lasting = {state: life for state, life in (lives or {}).items() if life is not None}
    if any(life <= 0 or state not in RecipeLife.State.values for state, life in lasting.items()):
        refuse("chemistry.life_too_short")
    given = (name.strip(), use, makes_pl, ratio.strip(), least_per_unit_pl, stream)
    texts = (hazard_words.strip(), protection.strip(), source.strip(), in_use)
    values = dict(zip(KEPT, (*given, *texts), strict=True))
    row = locked(Recipe.objects.filter(code=code)).first()
    changed = row is None or any(getattr(row, field) != value for field, value in values.items())
    if row is None:
        row = Recipe.objects.create(code=code, **values)
    elif changed:
        for field, value in values.items():
            setattr(row, field, value)
        row.save(update_fields=list(KEPT))
    changed |= _keep_parts(row, kept) | _keep_lives(row, lasting)
    if changed:
        record(code="chemistry.recipe_kept", happened_at=now, now=now, by=by, about=row, facts={"recipe": code})
    return reads.recipes().get(pk=row.pk), changed


def _with_ratio(parts: Sequence[PartOf], makes_pl: int, ratio: str) -> list[PartOf]:
    """The amount of the one concentrate, where it was left to the ratio."""
    read = rules.parsed(ratio) if ratio.strip() else None
    if isinstance(read, Refusal):
        raise Refused(read)
    bought = [one for one in parts if one.product is not None and one.product.unit == rules.ML]
    if read is None or len(bought) != 1 or bought[0].amount is not None:
        return list(parts)
    amount = rules.from_ratio(read, makes_pl)
    old = bought[0]
    new = PartOf(old.product, amount, False, old.rounds_to, old.instruction, old.caution)
    return [new if one is old else one for one in parts]


def _keep_parts(row: Recipe, parts: list[PartOf]) -> bool:
    names = ("product_id", "amount", "make_up", "rounds_to", "instruction", "caution")
    wanted = [
        (one.product.pk if one.product else None, one.amount, one.make_up, one.rounds_to, one.instruction, one.caution)
        for one in parts
    ]
    if list(RecipePart.objects.filter(recipe=row).order_by("position").values_list(*names)) == wanted:
        return False
    RecipePart.objects.filter(recipe=row).delete()
    for position, values in enumerate(wanted, 1):
        RecipePart.objects.create(recipe=row, position=position, **dict(zip(names, values, strict=True)))
    return True


def _keep_lives(row: Recipe, lives: Mapping[str, int]) -> bool:
    there = dict(RecipeLife.objects.filter(recipe=row).values_list("state", "life_s"))
    if there == dict(lives):
        return False
    RecipeLife.objects.filter(recipe=row).delete()
    for state, life in lives.items():
        RecipeLife.objects.create(recipe=row, state=state, life_s=life)
    return True
