"""What is bought: products, the lots they came in, and every amount that left a lot."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from studiodesk.constraints import AppendOnly


class Product(models.Model):
    """Something that is bought and mixed from.  Amounts are decimals in its own unit."""

    class Sort(models.TextChoices):
        CONCENTRATE = "concentrate"
        POWDER = "powder"
        KIT_PART = "kit part"
        REPLENISHER = "replenisher"
        STARTER = "starter"
        OTHER = "other"

    class Unit(models.TextChoices):
        ML = "mL"
        G = "g"
        PIECE = "piece"

    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=120)
    sort = models.CharField(max_length=12, choices=Sort.choices, default=Sort.CONCENTRATE)
    unit = models.CharField(max_length=5, choices=Unit.choices, default=Unit.ML)
    pack_amount = models.DecimalField(max_digits=12, decimal_places=3, help_text="in one pack as it is bought")
    price_minor = models.BigIntegerField(null=True, blank=True, help_text="of one pack, when nothing newer is known")
    hazard_words = models.TextField(blank=True, help_text="as the supplier's safety data sheet gives them")
    sheet_seen_on = models.DateField(null=True, blank=True, help_text="when the data sheet was last read")
    opened_life_s = models.BigIntegerField(null=True, blank=True)
    reorder_at = models.DecimalField(max_digits=12, decimal_places=3, null=True, blank=True)
    in_use = models.BooleanField(default=True)

    class Meta:
        ordering = ["name", "pk"]
        constraints = [models.CheckConstraint(condition=Q(pack_amount__gt=0), name="a_pack_holds_something")]

    def __str__(self) -> str:
        return self.name


class Lot(models.Model):
    """What one delivery brought of a product, or one batch of it.  What is left is counted from its entries."""

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="lots")
    code = models.CharField(max_length=60, help_text="the batch number on the pack")
    amount = models.DecimalField(max_digits=12, decimal_places=3)
    received_on = models.DateField()
    recorded_at = models.DateTimeField()
    expires_on = models.DateField(null=True, blank=True)
    opened_on = models.DateField(null=True, blank=True)
    place = models.CharField(max_length=120, blank=True)
    price_minor = models.BigIntegerField(null=True, blank=True, help_text="of the whole lot")
    delivery = models.CharField(max_length=120, blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["expires_on", "received_on", "pk"]
        constraints = [models.CheckConstraint(condition=Q(amount__gt=0), name="a_lot_brought_something")]

    def __str__(self) -> str:
        return f"{self.product_id} {self.code}"


class StockEntry(models.Model):
    """An amount that left a lot, or what was found when it was counted.  Append-only."""

    class Event(models.TextChoices):
        USED = "used"
        THROWN_AWAY = "thrown away"
        COUNTED = "counted"

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="entries")
    event = models.CharField(max_length=12, choices=Event.choices)
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    change = models.DecimalField(max_digits=12, decimal_places=3, help_text="less than 0: it left the lot")
    counted = models.DecimalField(max_digits=12, decimal_places=3, null=True, blank=True)
    note = models.CharField(max_length=500, blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    undoes = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT, related_name="undone_by")

    class Meta:
        ordering = ["at", "pk"]
        verbose_name_plural = "stock entries"
        constraints = [AppendOnly(name="stock_entries_are_append_only", gate="studiodesk_journalgate")]

    def __str__(self) -> str:
        return f"{self.event} {self.change}"
