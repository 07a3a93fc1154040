"""What is taught and what it needs: the outline that dates are made from."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from studiodesk.bookings.models import GroupStay
from studiodesk.safety.models import SignOffNeed
from studiodesk.stations.models import Process


class Outline(models.Model):
    """A course as it is taught: how long, for whom, what for, and on what terms.

    Dates made from it keep what it said then; changing it changes none of them.
    """

    class Level(models.TextChoices):
        NONE = "no experience"
        SOME = "some experience"
        MUCH = "experienced"

    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=120)
    sort = models.CharField(max_length=12, choices=GroupStay.Sort.choices, default=GroupStay.Sort.CLASS)
    summary = models.TextField(blank=True, help_text="What is taught, as the public reads it.")
    level = models.CharField(max_length=20, choices=Level.choices, default=Level.NONE)
    meetings = models.PositiveSmallIntegerField(default=1)
    length_minutes = models.PositiveIntegerField()
    before_minutes = models.PositiveSmallIntegerField(default=0)
    after_minutes = models.PositiveSmallIntegerField(default=0)
    heads_least = models.PositiveSmallIntegerField(default=1)
    heads_most = models.PositiveSmallIntegerField()
    heads_a_station = models.PositiveSmallIntegerField(default=1)
    minimum_age = models.PositiveSmallIntegerField(null=True, blank=True)
    price_minor = models.PositiveIntegerField(default=0)
    member_price_minor = models.PositiveIntegerField(null=True, blank=True)
    free_cancel_days = models.PositiveSmallIntegerField(default=7)
    decide_days = models.PositiveSmallIntegerField(null=True, blank=True)
    materials = models.TextField(blank=True, help_text="What the house has to lay out.")
    bring = models.TextField(blank=True, help_text="What people bring along.")
    process = models.ForeignKey(Process, null=True, blank=True, on_delete=models.PROTECT, related_name="outlines")
    tutor_needs = models.ManyToManyField(SignOffNeed, blank=True, related_name="outlines_taught")
    signs_off = models.ManyToManyField(SignOffNeed, blank=True, related_name="outlines_signing_off")
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(heads_most__gte=F("heads_least")) & Q(heads_least__gte=1), name="an_outline_has_room"
            ),
            models.CheckConstraint(condition=Q(heads_a_station__gte=1), name="somebody_sits_at_a_station"),
            models.CheckConstraint(
                condition=Q(length_minutes__gt=0) & Q(meetings__gte=1), name="an_outline_takes_some_time"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class OutlineNeed(models.Model):
    """What is kept for it: so many stations of a kind, or places at a processor of a process.

    ``number`` None: as many as the heads need (stations), a place for each station (processor).  Of a processor 0 is
    all its places: the class has it to itself.
    """

    outline = models.ForeignKey(Outline, on_delete=models.CASCADE, related_name="needs")
    kind = models.CharField(max_length=60, blank=True)
    process = models.ForeignKey(Process, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    number = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(kind="") | Q(process__isnull=False), name="an_outline_needs_a_kind_or_a_process"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.kind or self.process_id}"


class OutlinePaper(models.Model):
    """How many sheets of one size a head puts through, as a rule; mm."""

    outline = models.ForeignKey(Outline, on_delete=models.CASCADE, related_name="papers")
    width_mm = models.PositiveIntegerField()
    height_mm = models.PositiveIntegerField()
    sheets_a_head = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["width_mm", "height_mm"]
        constraints = [
            models.CheckConstraint(
                condition=Q(width_mm__gt=0) & Q(height_mm__gt=0) & Q(sheets_a_head__gt=0), name="some_paper_is_used"
            ),
            models.UniqueConstraint(fields=["outline", "width_mm", "height_mm"], name="a_size_stands_once_an_outline"),
        ]

    def __str__(self) -> str:
        return f"{self.sheets_a_head} × {self.width_mm}×{self.height_mm}"
