"""What wants doing: raised and cleared by rule, taken and put off by people."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from studiodesk.stations.models import Job, Processor

from .baths import Bath, BathEntry
from .mixing import Container
from .stock import Lot, Product


class Alert(models.Model):
    """One thing that wants doing until it is done.  ``key`` says of what it is: at most one stands open for each.

    ``since`` is from when it was so; ``late``: what raised it was written down after the fact.
    """

    class Kind(models.TextChoices):
        REPLENISHMENT_DUE = "replenishment due"
        AT_ITS_END = "at its end"
        CONTAMINATED = "contaminated"
        EVAPORATION = "evaporation"
        PUMP_OFF = "pump off"
        UNLOGGED = "unlogged"
        STRIP_ACTION = "strip past action"
        SECOND_STRIP = "second strip"
        HELD = "processor held"
        DRIFT = "drift"
        TEMPERATURE = "out of tolerance"
        JOB_OVERDUE = "job overdue"
        NOT_CLOSED = "not closed"
        REORDER = "reorder"
        EXPIRED = "expired"
        WASTE_FULL = "waste full"
        PERMIT_ENDS = "permit ends"

    kind = models.CharField(max_length=20, choices=Kind.choices)
    key = models.CharField(max_length=80)
    bath = models.ForeignKey(Bath, null=True, blank=True, on_delete=models.PROTECT, related_name="alerts")
    processor = models.ForeignKey(Processor, null=True, blank=True, on_delete=models.PROTECT, related_name="alerts")
    product = models.ForeignKey(Product, null=True, blank=True, on_delete=models.PROTECT, related_name="alerts")
    lot = models.ForeignKey(Lot, null=True, blank=True, on_delete=models.PROTECT, related_name="alerts")
    container = models.ForeignKey(Container, null=True, blank=True, on_delete=models.PROTECT, related_name="alerts")
    job = models.ForeignKey(Job, null=True, blank=True, on_delete=models.PROTECT, related_name="alerts")
    raised_at = models.DateTimeField()
    since = models.DateTimeField(null=True, blank=True)
    late = models.BooleanField(default=False)
    limit = models.CharField(max_length=20, blank=True)
    facts = models.JSONField(default=dict, blank=True)
    taken_at = models.DateTimeField(null=True, blank=True)
    taken_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="alerts_taken"
    )
    snoozed_at = models.DateTimeField(null=True, blank=True)
    snoozed_until = models.DateTimeField(null=True, blank=True)
    snoozed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    snooze_reason = models.CharField(max_length=200, blank=True)
    cleared_at = models.DateTimeField(null=True, blank=True)
    cleared_by = models.ForeignKey(BathEntry, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    cleared_person = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["-raised_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["key"], condition=Q(cleared_at__isnull=True), name="one_open_alert_a_thing"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.key}"
