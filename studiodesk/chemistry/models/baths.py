"""Baths and their tanks, the studio's figures for them, what was done to them.  Quantities are integers (see units)."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from studiodesk.constraints import AppendOnly
from studiodesk.stations.models import Processor

from .mixing import Container, Mix
from .waste import WasteStream


class Bath(models.Model):
    processor = models.ForeignKey(Processor, on_delete=models.PROTECT, related_name="baths")
    code = models.CharField(max_length=30)
    name = models.CharField(max_length=120)
    position = models.PositiveSmallIntegerField(default=0)
    next_bath = models.OneToOneField(
        "self",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="bath_before",
        help_text="the second fixing bath, which becomes this one when this one is spent",
    )
    stream = models.ForeignKey(WasteStream, null=True, blank=True, on_delete=models.PROTECT, related_name="baths")

    class Meta:
        ordering = ["processor_id", "position", "pk"]
        constraints = [models.UniqueConstraint(fields=["processor", "code"], name="bath_codes_are_unique")]

    def __str__(self) -> str:
        return self.name


class BathSetting(models.Model):
    """The studio's own figures for a bath, in force from a moment until the next row; null: that limit never binds.

    ``as_entered`` keeps every figure as it was written; the integers were rounded once from it.  ``by_paper`` has, for
    the code of a class of paper, the figures that differ from the bath's own: rate_ul_per_m2, capacity_mm2_per_l,
    silver_ug_per_m2.
    """

    class Dosing(models.TextChoices):
        MACHINE = "machine"
        HAND = "hand"
        BATCH = "batch"
        ONE_SHOT = "one-shot"
        RUNNING_WATER = "running water"

    bath = models.ForeignKey(Bath, on_delete=models.PROTECT, related_name="settings")
    in_force_from = models.DateTimeField()
    entered_at = models.DateTimeField()
    as_entered = models.JSONField(default=dict)
    dosing = models.CharField(max_length=15, choices=Dosing.choices)
    volume_pl = models.BigIntegerField()
    rate_ul_per_m2 = models.BigIntegerField(null=True, blank=True)
    unit_pl = models.BigIntegerField(null=True, blank=True, help_text="one stroke of the pump, or one measure by hand")
    capacity_mm2_per_l = models.BigIntegerField(null=True, blank=True)
    turnover_limit = models.DecimalField(max_digits=9, decimal_places=3, null=True, blank=True)
    age_limit_s = models.BigIntegerField(null=True, blank=True)
    idle_pl_per_day = models.BigIntegerField(default=0)
    silver_ug_per_m2 = models.BigIntegerField(null=True, blank=True)
    silver_limit_ug_per_l = models.BigIntegerField(null=True, blank=True)
    low_use_turnovers = models.DecimalField(
        max_digits=9, decimal_places=3, null=True, blank=True, help_text="in four weeks; fewer is too little use"
    )
    refill_cost_minor = models.BigIntegerField(null=True, blank=True)
    replenisher_minor_per_kl = models.BigIntegerField(null=True, blank=True)
    by_paper = models.JSONField(default=dict, blank=True)
    has_weir = models.BooleanField(
        default=True, help_text="Without one, as much is drawn off before replenisher goes in."
    )
    most_at_once_pl = models.BigIntegerField(null=True, blank=True, help_text="what the tank bears in one step")
    start_up_pl = models.BigIntegerField(default=0, help_text="replenishment due at each opening")
    evaporation_pl_per_day = models.BigIntegerField(null=True, blank=True, help_text="water lost in a day without work")
    bottle_limit_s = models.BigIntegerField(null=True, blank=True, help_text="shelf life in its marked bottle")
    dumped_at_closing = models.BooleanField(default=False)
    rotations_limit = models.PositiveSmallIntegerField(null=True, blank=True, help_text="then both fixing baths go")
    source = models.CharField(max_length=200, blank=True, help_text="where the figures come from")
    entered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["bath_id", "in_force_from"]
        constraints = [
            models.UniqueConstraint(fields=["bath", "in_force_from"], name="one_setting_at_a_time"),
            models.CheckConstraint(condition=Q(volume_pl__gt=0), name="a_tank_holds_something"),
        ]

    def __str__(self) -> str:
        return f"{self.bath_id} from {self.in_force_from:%Y-%m-%d}"


class Fill(models.Model):
    """One life of a bath, from refill to refill, with the sums kept by the acts and equal to a recount.

    ``began_at`` is null for what was in the tank before the first recorded refill.  ``sums`` is the frozen state of
    ``chemistry.rules.tank`` after the last event, as its ``to_row`` writes it.
    """

    bath = models.ForeignKey(Bath, on_delete=models.PROTECT, related_name="fills")
    began_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    area_mm2 = models.BigIntegerField(default=0)
    due_pl = models.BigIntegerField(default=0)
    given_pl = models.BigIntegerField(default=0)
    last_event_at = models.DateTimeField(null=True, blank=True)
    sums = models.JSONField(default=dict)

    class Meta:
        ordering = ["bath_id", "began_at"]
        constraints = [
            models.UniqueConstraint(fields=["bath"], condition=Q(ended_at__isnull=True), name="one_tank_at_a_time"),
            models.UniqueConstraint(fields=["bath", "began_at"], name="one_refill_at_a_moment"),
        ]

    def __str__(self) -> str:
        return f"{self.bath_id} since {self.began_at}"


class BathEntry(models.Model):
    """What was done to a bath or read from it.  Append-only: a correction names the entry that it replaces."""

    class Event(models.TextChoices):
        REFILL = "refill"
        GIVEN = "given"
        WATER = "water"
        WORKING_SOLUTION = "working solution"
        LOST = "lost"
        PARTIAL_DUMP = "partial dump"
        STRIP = "strip"
        CONDEMNED = "condemned"
        CONTAMINATED = "contaminated"
        DUMPED = "dumped"
        START_UP = "start-up"
        INTO_BOTTLE = "into the bottle"
        OUT_OF_BOTTLE = "out of the bottle"
        NOTE = "note"

    bath = models.ForeignKey(Bath, on_delete=models.PROTECT, related_name="entries")
    event = models.CharField(max_length=20, choices=Event.choices)
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    amount_pl = models.BigIntegerField(null=True, blank=True)
    drawn_pl = models.BigIntegerField(null=True, blank=True, help_text="drawn off before the amount went in")
    silver_ug_per_l = models.BigIntegerField(null=True, blank=True)
    mix = models.ForeignKey(Mix, null=True, blank=True, on_delete=models.PROTECT, related_name="entries")
    container = models.ForeignKey(
        Container, null=True, blank=True, on_delete=models.PROTECT, related_name="bath_entries"
    )
    age_from = models.DateTimeField(
        null=True, blank=True, help_text="of a refill: since when its shelf life goes on, if not since the refill"
    )
    rotation = models.PositiveSmallIntegerField(default=0, help_text="of a refill: how often this pair was rotated")
    note = models.CharField(max_length=500, blank=True)
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    corrects = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="corrected_by"
    )
    file_key = models.CharField(max_length=80, unique=True, null=True, blank=True)

    class Meta:
        ordering = ["at", "pk"]
        verbose_name_plural = "bath entries"
        indexes = [models.Index(fields=["bath", "at"], name="bath_entry_by_bath")]
        constraints = [AppendOnly(name="bath_entries_are_append_only", gate="studiodesk_journalgate")]

    def __str__(self) -> str:
        return f"{self.event} {self.at:%Y-%m-%d %H:%M}"
