"""Who opens the house when: shifts, and who would like to give one away."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q


class Shift(models.Model):
    """The house is looked after from ``starts`` until ``ends`` by ``person``; nobody yet: uncovered.

    ``supervises``: whoever has it helps people who are not signed off yet.
    """

    starts = models.DateTimeField()
    ends = models.DateTimeField()
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="shifts"
    )
    supervises = models.BooleanField(default=False)
    began_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    hand_over = models.TextField(blank=True, help_text="For whoever has the next shift.")
    handed_over_at = models.DateTimeField(null=True, blank=True)
    called_off_at = models.DateTimeField(null=True, blank=True)
    made_at = models.DateTimeField()

    class Meta:
        ordering = ["starts", "pk"]
        indexes = [models.Index(fields=["starts"], name="shift_by_start")]
        constraints = [models.CheckConstraint(condition=Q(ends__gt=F("starts")), name="shift_ends_after_it_starts")]

    def __str__(self) -> str:
        return f"{self.starts:%Y-%m-%d %H:%M}"


class ShiftSwap(models.Model):
    """Whoever has a shift asks that somebody takes it; until somebody does it stays theirs."""

    shift = models.ForeignKey(Shift, on_delete=models.PROTECT, related_name="swaps")
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    taken_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    settled_at = models.DateTimeField(null=True, blank=True, help_text="Taken, or withdrawn if nobody took it.")

    class Meta:
        ordering = ["asked_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["shift"], condition=Q(settled_at__isnull=True), name="a_shift_is_offered_once"
            )
        ]

    def __str__(self) -> str:
        return f"{self.shift_id} by {self.asked_by_id}"


class Service(models.Model):
    """Water, hot water, power, extraction, heating: what stations and processors need to be of use."""

    name = models.CharField(max_length=60, unique=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name
