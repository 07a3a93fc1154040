"""Recipes, what was mixed from them, and the containers it stands in."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from studiodesk.constraints import AppendOnly

from .stock import Lot, Product
from .waste import PickUp, WasteStream


class Recipe(models.Model):
    """How a solution is mixed: its parts for ``makes_pl``, in the order in which they go in.

    Every figure is the studio's own, from the data sheet named in ``source``.
    """

    class Use(models.TextChoices):
        TANK = "tank"
        REPLENISHER = "replenisher"
        WORKING = "working solution"
        ONE_SHOT = "one-shot"

    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=120)
    use = models.CharField(max_length=16, choices=Use.choices, default=Use.WORKING)
    makes_pl = models.BigIntegerField(help_text="for how much the parts below are given")
    ratio = models.CharField(max_length=30, blank=True, help_text="as people say it, such as 1+9")
    least_per_unit_pl = models.BigIntegerField(
        null=True, blank=True, help_text="one-shot: the concentrate that one roll or sheet needs at the least"
    )
    stream = models.ForeignKey(WasteStream, null=True, blank=True, on_delete=models.PROTECT, related_name="recipes")
    hazard_words = models.TextField(blank=True, help_text="of the mix, as the data sheet gives them")
    protection = models.CharField(max_length=300, blank=True, help_text="gloves, goggles, extraction")
    source = models.CharField(max_length=200, blank=True)
    in_use = models.BooleanField(default=True)

    class Meta:
        ordering = ["name", "pk"]
        constraints = [models.CheckConstraint(condition=Q(makes_pl__gt=0), name="a_recipe_makes_something")]

    def __str__(self) -> str:
        return self.name


class RecipePart(models.Model):
    """One step: so much of a product, or of water (``product`` None), for ``makes_pl``.

    ``amount`` in the product's unit (water: mL).  ``make_up`` marks the last water: as much as is missing to the
    volume.  ``rounds_to`` is the least that the studio can measure of it.
    """

    recipe = models.ForeignKey(Recipe, on_delete=models.CASCADE, related_name="parts")
    position = models.PositiveSmallIntegerField()
    product = models.ForeignKey(Product, null=True, blank=True, on_delete=models.PROTECT, related_name="recipe_parts")
    amount = models.DecimalField(max_digits=12, decimal_places=3, null=True, blank=True)
    make_up = models.BooleanField(default=False)
    rounds_to = models.DecimalField(max_digits=9, decimal_places=3, null=True, blank=True)
    instruction = models.CharField(max_length=300, blank=True)
    caution = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["recipe_id", "position"]
        constraints = [
            models.UniqueConstraint(fields=["recipe", "position"], name="one_part_a_step"),
            models.CheckConstraint(
                condition=Q(make_up=True, product__isnull=True, amount__isnull=True) | Q(make_up=False, amount__gt=0),
                name="a_part_has_an_amount",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.recipe_id}/{self.position}"


class RecipeLife(models.Model):
    """How long the mix lasts in one state, if it stood in that state all the time."""

    class State(models.TextChoices):
        FULL = "full bottle"
        PART_FULL = "part-full bottle"
        FLOATING_LID = "floating lid"
        TANK = "tank"
        TRAY = "tray"

    recipe = models.ForeignKey(Recipe, on_delete=models.CASCADE, related_name="lives")
    state = models.CharField(max_length=16, choices=State.choices)
    life_s = models.BigIntegerField()

    class Meta:
        ordering = ["recipe_id", "state"]
        constraints = [
            models.UniqueConstraint(fields=["recipe", "state"], name="one_life_a_state"),
            models.CheckConstraint(condition=Q(life_s__gt=0), name="a_life_lasts"),
        ]

    def __str__(self) -> str:
        return f"{self.recipe_id} {self.state}"


class Container(models.Model):
    """A marked bottle, a replenisher with a floating lid, a drum for waste.  Never one for food."""

    class Sort(models.TextChoices):
        BOTTLE = "bottle"
        FLOATING_LID = "floating lid"
        TRAY = "tray"
        WASTE = "waste"

    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=120)
    sort = models.CharField(max_length=14, choices=Sort.choices)
    capacity_pl = models.BigIntegerField()
    place = models.CharField(max_length=120, blank=True)
    stream = models.ForeignKey(WasteStream, null=True, blank=True, on_delete=models.PROTECT, related_name="containers")
    feeds_bath = models.ForeignKey(
        "Bath",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="replenishers",
        help_text="the bath that is replenished from it",
    )
    in_use = models.BooleanField(default=True)

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(capacity_pl__gt=0), name="a_container_holds_something"),
            models.CheckConstraint(
                condition=Q(sort="waste", stream__isnull=False) | ~Q(sort="waste"), name="waste_has_a_stream"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Mix(models.Model):
    """One mixing: what was asked for and what was really measured, by whom, from which lots."""

    recipe = models.ForeignKey(Recipe, on_delete=models.PROTECT, related_name="mixes")
    number = models.PositiveIntegerField(unique=True, help_text="as it stands on the label")
    made_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    asked_pl = models.BigIntegerField()
    made_pl = models.BigIntegerField()
    container = models.ForeignKey(Container, null=True, blank=True, on_delete=models.PROTECT, related_name="mixes")
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="mixes"
    )
    note = models.CharField(max_length=500, blank=True)
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at", "-pk"]
        verbose_name_plural = "mixes"
        constraints = [models.CheckConstraint(condition=Q(made_pl__gt=0), name="a_mix_is_something")]

    def __str__(self) -> str:
        return f"{self.number}"


class MixPart(models.Model):
    """One part of a mix: what the recipe asked for and what was measured, both in the product's unit."""

    mix = models.ForeignKey(Mix, on_delete=models.PROTECT, related_name="parts")
    position = models.PositiveSmallIntegerField()
    product = models.ForeignKey(Product, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    lot = models.ForeignKey(Lot, null=True, blank=True, on_delete=models.PROTECT, related_name="mix_parts")
    asked = models.DecimalField(max_digits=16, decimal_places=6)
    measured = models.DecimalField(max_digits=12, decimal_places=3)

    class Meta:
        ordering = ["mix_id", "position", "pk"]

    def __str__(self) -> str:
        return f"{self.mix_id}/{self.position}"


class ContainerEntry(models.Model):
    """What went into a container, out of it, or was read at it.  Append-only."""

    class Event(models.TextChoices):
        FILLED = "filled"
        TAKEN = "taken"
        POURED_IN = "poured in"
        MEASURED = "measured"
        CONNECTED = "connected"
        COLLECTED = "collected"
        EMPTIED = "emptied"

    container = models.ForeignKey(Container, on_delete=models.PROTECT, related_name="entries")
    event = models.CharField(max_length=10, choices=Event.choices)
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    amount_pl = models.BigIntegerField(
        null=True, blank=True, help_text="what went in or out; of a measurement the level"
    )
    silver_pg = models.BigIntegerField(null=True, blank=True)
    mix = models.ForeignKey(Mix, null=True, blank=True, on_delete=models.PROTECT, related_name="container_entries")
    bath_entry = models.ForeignKey(
        "BathEntry", null=True, blank=True, on_delete=models.PROTECT, related_name="container_entries"
    )
    pick_up = models.ForeignKey(PickUp, null=True, blank=True, on_delete=models.PROTECT, related_name="entries")
    note = models.CharField(max_length=500, blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    undoes = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT, related_name="undone_by")

    class Meta:
        ordering = ["at", "pk"]
        verbose_name_plural = "container entries"
        indexes = [models.Index(fields=["container", "at"], name="entry_by_container")]
        constraints = [AppendOnly(name="container_entries_are_append_only", gate="studiodesk_journalgate")]

    def __str__(self) -> str:
        return f"{self.event} {self.at:%Y-%m-%d %H:%M}"
