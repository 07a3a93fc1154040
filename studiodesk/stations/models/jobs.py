"""Jobs that recur, what was done of them, and processors that were opened and closed."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from studiodesk.constraints import AppendOnly

from .house import Processor


class Job(models.Model):
    """A job of the house or of one processor that comes again: every so many days, at each opening, closing or change.

    One that asks for a number has the tolerance that the number is held against.
    """

    class Occasion(models.TextChoices):
        DAYS = "every so many days"
        OPENING = "at opening"
        CLOSING = "at closing"
        BATH_CHANGE = "at a bath change"

    class Asks(models.TextChoices):
        TICK = "a tick"
        NUMBER = "a number"
        WORDS = "a few words"

    class Who(models.TextChoices):
        KEYHOLDER = "keyholder"
        STAFF = "staff"
        MANAGER = "manager"

    code = models.CharField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    how = models.TextField(blank=True)
    caution = models.CharField(max_length=300, blank=True)
    processor = models.ForeignKey(Processor, null=True, blank=True, on_delete=models.PROTECT, related_name="jobs")
    occasion = models.CharField(max_length=20, choices=Occasion.choices)
    every_days = models.PositiveSmallIntegerField(null=True, blank=True)
    first_day = models.DateField(null=True, blank=True)
    position = models.PositiveSmallIntegerField(default=0)
    who = models.CharField(max_length=10, choices=Who.choices, default=Who.KEYHOLDER)
    asks = models.CharField(max_length=12, choices=Asks.choices, default=Asks.TICK)
    unit = models.CharField(max_length=20, blank=True)
    at_least = models.DecimalField(max_digits=9, decimal_places=3, null=True, blank=True)
    at_most = models.DecimalField(max_digits=9, decimal_places=3, null=True, blank=True)
    in_use = models.BooleanField(default=True)

    class Meta:
        ordering = ["processor_id", "occasion", "position", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(occasion="every so many days", every_days__gt=0)
                | (~Q(occasion="every so many days") & Q(every_days__isnull=True)),
                name="days_are_counted_where_they_recur",
            ),
            models.CheckConstraint(
                condition=Q(at_least__isnull=True) | Q(at_most__isnull=True) | Q(at_most__gte=F("at_least")),
                name="a_tolerance_is_not_empty",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class ProcessorOpening(models.Model):
    """One working day of a processor: from the first step of its opening until it is closed."""

    processor = models.ForeignKey(Processor, on_delete=models.PROTECT, related_name="openings")
    begun_at = models.DateTimeField()
    begun_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    ready_at = models.DateTimeField(null=True, blank=True)
    ready_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["-begun_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["processor"], condition=Q(closed_at__isnull=True), name="a_processor_is_open_once"
            ),
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True) | Q(closed_at__gte=F("begun_at")),
                name="an_opening_ends_after_it_begins",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.processor_id} {self.begun_at:%Y-%m-%d %H:%M}"


class JobDone(models.Model):
    """A job was done, or left out with a reason.  Append-only: what was wrong is taken back by a row of its own."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="done")
    opening = models.ForeignKey(
        ProcessorOpening, null=True, blank=True, on_delete=models.PROTECT, related_name="jobs_done"
    )
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    value = models.DecimalField(max_digits=9, decimal_places=3, null=True, blank=True)
    in_tolerance = models.BooleanField(default=True)
    left_out = models.BooleanField(default=False)
    note = models.CharField(max_length=300, blank=True)
    done_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    undoes = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT, related_name="undone_by")

    class Meta:
        ordering = ["at", "pk"]
        verbose_name_plural = "jobs done"
        indexes = [models.Index(fields=["job", "at"], name="done_by_job")]
        constraints = [
            models.CheckConstraint(condition=Q(left_out=False) | ~Q(note=""), name="what_is_left_out_has_a_reason"),
            AppendOnly(name="jobs_done_are_append_only", gate="studiodesk_journalgate"),
        ]

    def __str__(self) -> str:
        return f"{self.job_id} {self.at:%Y-%m-%d %H:%M}"
