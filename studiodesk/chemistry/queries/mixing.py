"""Reads of recipes, mixes and containers: what stands where, how old it is, by when it has to be used."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import OuterRef, Prefetch, QuerySet, Subquery
from django.utils import timezone
from django.utils.translation import gettext as _

from studiodesk.units import PL_PER_ML

from ..models import BathEntry, Container, ContainerEntry, Mix, MixPart, Recipe, RecipePart
from ..rules import ageing
from ..rules import mixing as rules

SHOWN = 30


def recipes() -> QuerySet[Recipe]:
    """With their parts in order, the products of these, and their lives."""
    parts = RecipePart.objects.select_related("product").order_by("position")
    return Recipe.objects.select_related("stream").prefetch_related(Prefetch("parts", parts), "lives")


def access_recipe(code: str) -> Recipe:
    return recipes().get(code=code)


def part_facts(recipe: Recipe) -> list[rules.Part]:
    return [
        rules.Part(
            part.position,
            part.amount,
            part.product.unit if part.product else rules.ML,
            part.make_up,
            part.product is None,
            part.rounds_to,
        )
        for part in recipe.parts.all()
    ]


def measures_of(recipe: Recipe, asked_pl: int) -> list[rules.Measure]:
    return rules.measures(part_facts(recipe), recipe.makes_pl, asked_pl)


def lives_of(recipe: Recipe) -> dict[str, int]:
    return {life.state: life.life_s for life in recipe.lives.all()}


# --- containers -----------------------------------------------------------------------------------------------------


def containers() -> QuerySet[Container]:
    """Those for mixes; waste stands in others."""
    return (
        Container.objects.exclude(sort=Container.Sort.WASTE)
        .select_related("stream", "feeds_bath__processor")
        .order_by("name", "pk")
    )


def access_container(code: str) -> Container:
    return containers().get(code=code)


def holding_entries() -> QuerySet[ContainerEntry]:
    """The lines that count: neither what was taken back nor what took it back."""
    return ContainerEntry.objects.filter(undoes=None, undone_by=None).order_by("at", "pk")


@dataclass(frozen=True)
class Content:
    """What stands in a container at a moment; ``mix`` None: nothing, or ``unmixed_pl`` of no mix that is known."""

    container: Container
    mix: Mix | None = None
    level_pl: int = 0
    state: str = ""
    spent: float = 0.0
    use_by: datetime | None = None
    is_unknown: bool = False
    now: datetime | None = None
    unmixed_pl: int = 0

    @property
    def is_past(self) -> bool:
        """As it is worded: on its last day it may still be used."""
        if self.use_by is None or self.now is None:
            return False
        return timezone.localdate(self.use_by) < timezone.localdate(self.now)

    def __str__(self) -> str:
        """ "Bottle 3: Fixer 1+4, mix 12, 700 mL", "Bottle 4: empty, takes 1000 mL" """
        named = {"name": self.container.name, "takes": self.container.capacity_pl // PL_PER_ML}
        if self.mix is None and self.unmixed_pl:
            named |= {"ml": self.unmixed_pl // PL_PER_ML}
            return _("%(name)s: %(ml)s mL of no mix that is known") % named
        if self.mix is None:
            return _("%(name)s: empty, takes %(takes)s mL") % named
        named |= {"recipe": self.mix.recipe.name, "number": self.mix.number, "ml": self.level_pl // PL_PER_ML}
        return _("%(name)s: %(recipe)s, mix %(number)s, %(ml)s mL") % named

    @property
    def room_pl(self) -> int:
        return max(0, self.container.capacity_pl - self.level_pl)


def contents(of: Iterable[Container], now: datetime) -> dict[int, Content]:
    """Container id → what stands in it.  Six queries, however long the history of a container is."""
    listed = list(of)
    latest = holding_entries().filter(container=OuterRef("pk"), mix__isnull=False).order_by("-at", "-pk")
    asked = Container.objects.filter(pk__in=[one.pk for one in listed]).order_by()
    last = dict(asked.annotate(last=Subquery(latest.values("mix")[:1])).values_list("pk", "last"))
    mixes = {
        mix.pk: mix
        for mix in Mix.objects.filter(pk__in=set(last.values()) - {None})
        .select_related("recipe__stream", "made_by")
        .prefetch_related("recipe__lives")
    }
    found = standing_of(mixes.values(), now)
    unmixed = _unmixed(listed, now)
    out: dict[int, Content] = {}
    for one in listed:
        mix = mixes.get(last.get(one.pk))
        stands = found.get((mix.pk, one.pk)) if mix else None
        if mix is None or stands is None or stands.level_pl <= 0:
            out[one.pk] = Content(one, now=now, unmixed_pl=unmixed.get(one.pk, 0))
            continue
        out[one.pk] = Content(
            one,
            mix,
            stands.level_pl,
            stands.state,
            float(stands.spent),
            stands.use_by(lives_of(mix.recipe)),
            stands.unknown,
            now,
        )
    return out


def _unmixed(of: list[Container], now: datetime) -> dict[int, int]:
    """Container id → its level, where one was read of what came from no mix that is written down."""
    levels: dict[int, int] = {}
    for row in holding_entries().filter(container__in=of, mix=None, at__lte=now):
        if row.event == ContainerEntry.Event.MEASURED:
            levels[row.container_id] = row.amount_pl or 0
        elif row.event == ContainerEntry.Event.FILLED and row.container_id in levels:
            levels[row.container_id] += row.amount_pl or 0
    return levels


def standing_of(mixes: Iterable[Mix], now: datetime) -> dict[tuple[int, int], ageing.Stock]:
    """(mix id, container id) → what stands there of it at ``now``."""
    by_mix: dict[int, list[ageing.Happened]] = defaultdict(list)
    vessels: dict[int, ageing.Vessel] = {}
    lives = {mix.pk: lives_of(mix.recipe) for mix in mixes}
    rows = holding_entries().filter(mix__in=list(lives), at__lte=now).select_related("container")
    for row in rows:
        vessels[row.container_id] = ageing.Vessel(row.container.sort, row.container.capacity_pl)
        by_mix[row.mix_id].append(ageing.Happened(row.container_id, row.event, row.at, row.amount_pl or 0))
    out: dict[tuple[int, int], ageing.Stock] = {}
    for mix, happened in by_mix.items():
        for container, stands in ageing.levels(happened, vessels, lives[mix]).items():
            out[mix, container] = stands.aged(now, lives[mix])
    return out


def content_of(container: Container, now: datetime) -> Content:
    return contents([container], now)[container.pk]


def last_written(container: Container) -> datetime | None:
    row = holding_entries().filter(container=container).last()
    return row.at if row else None


def container_entries(container: Container) -> list[ContainerEntry]:
    """What happened to it, the latest first."""
    return list(
        holding_entries()
        .filter(container=container)
        .select_related("mix__recipe", "recorded_by", "bath_entry__bath__processor")
        .order_by("-at", "-pk")[:SHOWN]
    )


# --- mixes ----------------------------------------------------------------------------------------------------------


def mixes() -> QuerySet[Mix]:
    parts = MixPart.objects.select_related("product", "lot").order_by("position", "pk")
    return Mix.objects.select_related("recipe__stream", "container", "made_by").prefetch_related(
        Prefetch("parts", parts), "recipe__lives", "recipe__parts__product"
    )


def access_mix(number: int) -> Mix:
    return mixes().get(number=number)


def latest_mixes() -> list[Mix]:
    return list(Mix.objects.select_related("recipe", "container", "made_by").order_by("-made_at", "-pk")[:SHOWN])


def where_is(mix: Mix, now: datetime) -> list[Content]:
    """The containers in which something of it stands."""
    found = containers().filter(entries__mix=mix).distinct()
    return [one for one in contents(found, now).values() if one.mix is not None and one.mix.pk == mix.pk]


def went_into(mix: Mix) -> list[BathEntry]:
    """The entries of baths that name it and hold."""
    return list(
        BathEntry.objects.filter(mix=mix, corrected_by=None)
        .exclude(event=BathEntry.Event.NOTE)
        .select_related("bath__processor")
        .order_by("at", "pk")
    )


def loose_mixes(now: datetime) -> list[Mix]:
    """Mixes that were poured into no container and named by no bath yet, the latest first."""
    return list(
        Mix.objects.filter(container=None, undone_at=None, made_at__lte=now, container_entries=None)
        .exclude(entries__corrected_by=None, entries__isnull=False)
        .select_related("recipe")
        .order_by("-made_at", "-pk")[:5]
    )


def label_use_by(mix: Mix, now: datetime) -> datetime | None:
    """By when it has to be used as it stands now: the earliest of its containers.

    Before it is poured anywhere nothing is said: it depends on what it will stand in.
    """
    return ageing.earliest(*(one.use_by for one in where_is(mix, now)))
