"""Control strips: what they should read, what they read, and what became of a processor that was out."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from studiodesk.bookings.models import Outage
from studiodesk.constraints import AppendOnly
from studiodesk.stations.models import Processor


class StripAim(models.Model):
    """Aim and limits of one patch and channel, in force from a moment until the next row of the same.

    The aim is ``reference`` + ``correction`` (of the batch of strips).  The limits are deviations from it; an empty
    one never binds.  The channel "spread" has no aim: its limits bound the greatest minus the least deviation.
    """

    processor = models.ForeignKey(Processor, on_delete=models.PROTECT, related_name="strip_aims")
    patch = models.CharField(max_length=30)
    channel = models.CharField(max_length=30)
    reference = models.DecimalField(max_digits=9, decimal_places=4, null=True, blank=True)
    correction = models.DecimalField(max_digits=9, decimal_places=4, default=0)
    batch = models.CharField(max_length=60, blank=True, help_text="the batch of control strips")
    action_below = models.DecimalField(max_digits=9, decimal_places=4, null=True, blank=True)
    action_above = models.DecimalField(max_digits=9, decimal_places=4, null=True, blank=True)
    control_below = models.DecimalField(max_digits=9, decimal_places=4, null=True, blank=True)
    control_above = models.DecimalField(max_digits=9, decimal_places=4, null=True, blank=True)
    in_force_from = models.DateTimeField()
    entered_at = models.DateTimeField()
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    source = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["processor_id", "patch", "channel", "in_force_from"]
        constraints = [
            models.UniqueConstraint(
                fields=["processor", "patch", "channel", "in_force_from"], name="one_aim_at_a_time"
            ),
            models.CheckConstraint(
                condition=Q(channel="spread", reference__isnull=True)
                | (~Q(channel="spread") & Q(reference__isnull=False)),
                name="only_a_spread_has_no_aim",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.patch} {self.channel}"


class ControlStrip(models.Model):
    """One strip through a processor, judged by numbers or by eye.  Append-only; a wrong one is taken back by a row."""

    class Eye(models.TextChoices):
        MATCHES = "matches"
        LIGHTER = "lighter"
        DARKER = "darker"
        CAST = "colour cast"
        STAINED = "stained"

    class Verdict(models.TextChoices):
        INSIDE = "inside"
        ACTION = "past action"
        CONTROL = "past control"

    processor = models.ForeignKey(Processor, on_delete=models.PROTECT, related_name="control_strips")
    read_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    eye = models.CharField(max_length=12, choices=Eye.choices, blank=True)
    verdict = models.CharField(max_length=12, choices=Verdict.choices)
    rule = models.CharField(max_length=60, blank=True, help_text="what was broken, as a code")
    note = models.CharField(max_length=500, blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    undoes = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT, related_name="undone_by")

    class Meta:
        ordering = ["read_at", "pk"]
        indexes = [models.Index(fields=["processor", "read_at"], name="control_strip_by_processor")]
        constraints = [AppendOnly(name="control_strips_are_append_only", gate="studiodesk_journalgate")]

    def __str__(self) -> str:
        return f"{self.processor_id} {self.read_at:%Y-%m-%d %H:%M}"


class StripReading(models.Model):
    """One patch and channel of a control strip, read against its aim."""

    processor = models.ForeignKey(Processor, on_delete=models.PROTECT, related_name="strip_readings")
    strip = models.ForeignKey(ControlStrip, null=True, blank=True, on_delete=models.PROTECT, related_name="readings")
    read_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    patch = models.CharField(max_length=30)
    channel = models.CharField(max_length=30)
    aim = models.DecimalField(max_digits=9, decimal_places=4)
    reading = models.DecimalField(max_digits=9, decimal_places=4)
    file_key = models.CharField(max_length=80, unique=True, null=True, blank=True)

    class Meta:
        ordering = ["read_at", "patch", "channel"]
        indexes = [models.Index(fields=["processor", "read_at"], name="strip_by_processor")]
        constraints = [
            AppendOnly(name="strip_readings_are_append_only", gate="studiodesk_journalgate"),
        ]

    def __str__(self) -> str:
        return f"{self.patch} {self.channel} {self.reading}"


class StripCase(models.Model):
    """A strip was past its control limit: a second one is asked for, then the processor is held until a good one."""

    processor = models.ForeignKey(Processor, on_delete=models.PROTECT, related_name="strip_cases")
    first = models.ForeignKey(ControlStrip, on_delete=models.PROTECT, related_name="+")
    second = models.ForeignKey(ControlStrip, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    outage = models.ForeignKey(Outage, null=True, blank=True, on_delete=models.SET_NULL, related_name="strip_cases")
    opened_at = models.DateTimeField()
    held_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(ControlStrip, null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-opened_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["processor"], condition=Q(ended_at__isnull=True), name="one_open_case_a_processor"
            )
        ]

    def __str__(self) -> str:
        return f"{self.processor_id} {self.opened_at:%Y-%m-%d %H:%M}"
