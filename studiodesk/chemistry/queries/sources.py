"""From where something can be poured into a bath: containers with something in them, mixes that stand in none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext as _

from studiodesk.units import PL_PER_ML

from ..models import Bath, Container, Mix, Recipe
from ..rules import entering
from . import mixing

#: What somebody pours into a bath.
FROM_SOMEWHERE = frozenset({entering.REFILL, entering.GIVEN, entering.WORKING_SOLUTION, entering.PARTIAL_DUMP})


@dataclass(frozen=True)
class Source:
    """A container with what is in it, or a mix alone; ``level_pl`` None: as much as there was is not known."""

    mix: Mix
    container: Container | None = None
    level_pl: int | None = None
    is_past: bool = False

    @property
    def value(self) -> str:
        return f"container:{self.container.code}" if self.container else f"mix:{self.mix.number}"

    @property
    def name(self) -> str:
        return self.container.name if self.container else _("mix %(number)s") % {"number": self.mix.number}

    def __str__(self) -> str:
        named = {"recipe": self.mix.recipe.name, "number": self.mix.number}
        if self.container is None:
            return _("%(recipe)s, mix %(number)s, straight from mixing") % named
        named |= {"container": self.container.name, "ml": (self.level_pl or 0) // PL_PER_ML}
        if self.is_past:
            return _("Past its use by! %(container)s: %(recipe)s, mix %(number)s, %(ml)s mL") % named
        return _("%(container)s: %(recipe)s, mix %(number)s, %(ml)s mL") % named


def sources_for(bath: Bath, event: str, now: datetime) -> list[Source]:
    """What may go into this bath, its own replenisher's can first.

    Left out is what is mixed for one use alone, what is of another waste stream, and a can that is kept for another
    bath and not known to be of the same stream: a long list is where the wrong one is picked.
    """
    if event not in FROM_SOMEWHERE:
        return []
    found = [
        Source(one.mix, one.container, one.level_pl, one.is_past)
        for one in mixing.contents(mixing.containers(), now).values()
        if one.mix is not None and one.container.in_use
    ]
    found += [Source(mix) for mix in mixing.loose_mixes(now)]
    fitting = [one for one in found if _fits(one, bath)]
    return sorted(fitting, key=lambda one: (one.container is None or one.container.feeds_bath_id != bath.pk, one.name))


def _fits(one: Source, bath: Bath) -> bool:
    recipe, kept_for = one.mix.recipe, one.container.feeds_bath_id if one.container else None
    if recipe.use == Recipe.Use.ONE_SHOT:
        return False
    if kept_for not in (None, bath.pk):
        return bath.stream_id is not None and recipe.stream_id == bath.stream_id
    return None in (bath.stream_id, recipe.stream_id) or recipe.stream_id == bath.stream_id


def usual(bath: Bath, event: str, found: Sequence[Source]) -> str:
    """The can that is kept for this bath, where replenishment is given and it is not too old; else nothing."""
    if event != entering.GIVEN:
        return ""
    own = (
        one for one in found if one.container is not None and one.container.feeds_bath_id == bath.pk and not one.is_past
    )
    return next((one.value for one in own), "")
