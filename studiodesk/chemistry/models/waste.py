"""Where what is poured away goes.  Local rules and the contractor decide where; this keeps the record."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q


class WasteStream(models.Model):
    """What may stand in one container and is never mixed with another stream."""

    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=120)
    bears_silver = models.BooleanField(default=False)
    conditions = models.TextField(blank=True, help_text="what the contractor and the local rules ask of it")

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name


class WastePermit(models.Model):
    """A permit or an agreement of the house, in its own words; never edited, a newer one follows."""

    number = models.CharField(max_length=80)
    issued_by = models.CharField(max_length=200)
    conditions = models.TextField(blank=True)
    valid_from = models.DateField()
    valid_until = models.DateField(null=True, blank=True)
    entered_at = models.DateTimeField()
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["-valid_from", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(valid_until__isnull=True) | Q(valid_until__gte=F("valid_from")),
                name="a_permit_ends_after_it_begins",
            )
        ]

    def __str__(self) -> str:
        return self.number


class PickUp(models.Model):
    """A contractor took waste away: the receipt, and until when it has to be kept."""

    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    contractor = models.CharField(max_length=200)
    receipt = models.CharField(max_length=80)
    keep_until = models.DateField()
    silver_mg = models.BigIntegerField(null=True, blank=True, help_text="as the contractor measured it")
    note = models.CharField(max_length=500, blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [models.UniqueConstraint(fields=["contractor", "receipt"], name="a_receipt_is_entered_once")]

    def __str__(self) -> str:
        return f"{self.contractor} {self.receipt}"

    @property
    def silver_g(self) -> float | None:
        return None if self.silver_mg is None else self.silver_mg / 1000
