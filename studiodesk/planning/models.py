"""What was foretold of each bath, kept to be read and to be scored."""

from django.db import models
from django.db.models import F, Q

from studiodesk.chemistry.models import Bath


class KeptForecast(models.Model):
    """What was foretold of one tank at ``at``, and, once it came about, how far it was right.

    Dates are the studio's local days; a date beyond the horizon is null.  ``course`` is a row a day from ``day`` on:
    the mean (mm²) and variance (mm⁴) of the area that will have gone through from ``at`` to that day's end.
    """

    class Why(models.TextChoices):
        NIGHTLY = "nightly"
        ASKED = "asked"
        BATH_CHANGE = "bath change"
        CLASSES = "classes"

    bath = models.ForeignKey(Bath, on_delete=models.PROTECT, related_name="forecasts")
    at = models.DateTimeField(help_text="only what was known at this moment went into it")
    reckoned_at = models.DateTimeField()
    day = models.DateField(help_text="the studio's local day of that moment")
    why = models.CharField(max_length=12, choices=Why.choices)
    tank_since = models.DateTimeField(null=True, blank=True)
    p10 = models.DateField(null=True, blank=True)
    p50 = models.DateField(null=True, blank=True)
    p90 = models.DateField(null=True, blank=True)
    first_limit = models.JSONField(default=dict, blank=True, help_text="name of the limit to its probability")
    nearest = models.CharField(max_length=20, blank=True, help_text="the limit that use reaches first")
    room_mm2 = models.BigIntegerField(null=True, blank=True, help_text="what still may go through before that limit")
    idle_mm2 = models.BigIntegerField(default=0, help_text="what an idle day takes of that room")
    age_ends_at = models.DateTimeField(null=True, blank=True)
    booked_s = models.BigIntegerField(default=0)
    history_sessions = models.PositiveIntegerField(default=0)
    watched_days = models.PositiveIntegerField(default=0, help_text="how long the processor has been looked at")
    loose_days = models.PositiveIntegerField(default=0, help_text="days of these with sheets of nobody's booking")
    replenisher = models.JSONField(null=True, blank=True, help_text="pL in four weeks: low, middle, high")
    low_use = models.JSONField(null=True, blank=True)
    widened = models.FloatField(default=1)
    classes = models.JSONField(default=list, blank=True, help_text="what each class to come asks of this bath")
    course = models.JSONField(default=list, blank=True)
    scored_at = models.DateTimeField(null=True, blank=True)
    passed_on = models.DateField(null=True, blank=True)
    was_inside = models.BooleanField(null=True, blank=True)
    shares = models.JSONField(default=dict, blank=True, help_text="days ahead to P(area ≤ what then went through)")

    class Meta:
        ordering = ["-at", "bath_id"]
        indexes = [models.Index(fields=["bath", "at"], name="forecast_by_bath")]
        constraints = [
            models.UniqueConstraint(
                fields=["bath", "day"], condition=Q(why="nightly"), name="one_nightly_forecast_a_day"
            ),
            models.CheckConstraint(
                condition=(Q(p50__isnull=True) | Q(p50__gte=F("p10"))) & (Q(p90__isnull=True) | Q(p90__gte=F("p50"))),
                name="forecast_dates_stand_in_order",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.bath_id} {self.day}: {self.p50}"
