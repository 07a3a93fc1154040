"""What a pump really gives."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from studiodesk.constraints import AppendOnly

from .baths import Bath, BathSetting


class PumpCalibration(models.Model):
    """Strokes caught in a cylinder, at least three times.  Its mean becomes the bath's stroke.  Append-only."""

    bath = models.ForeignKey(Bath, on_delete=models.PROTECT, related_name="calibrations")
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    strokes_each = models.PositiveSmallIntegerField(default=1, help_text="strokes in one catch")
    caught_pl = models.JSONField(help_text="what each catch measured")
    mean_pl = models.BigIntegerField(help_text="of one stroke")
    was_pl = models.BigIntegerField(null=True, blank=True, help_text="the stroke in force until then")
    setting = models.ForeignKey(BathSetting, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=500, blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(condition=Q(mean_pl__gt=0), name="a_stroke_gives_something"),
            AppendOnly(name="calibrations_are_append_only", gate="studiodesk_journalgate"),
        ]

    def __str__(self) -> str:
        return f"{self.bath_id} {self.at:%Y-%m-%d}"
