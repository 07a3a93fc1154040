"""Baths and their tanks, what went through them and what was given to them.  Quantities are integers (see units)."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from studiodesk.bookings.models import Booking
from studiodesk.constraints import AppendOnly
from studiodesk.people.models import Tablet
from studiodesk.stations.models import Processor


class SheetSize(models.Model):
    """A size has one exact size in mm and a name that is never converted."""

    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=60)
    width_mm = models.PositiveIntegerField()
    length_mm = models.PositiveIntegerField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=Q(width_mm__gt=0) & Q(length_mm__gt=0), name="a_sheet_has_two_sides")
        ]

    def __str__(self) -> str:
        return self.name


class Bath(models.Model):
    processor = models.ForeignKey(Processor, on_delete=models.PROTECT, related_name="baths")
    code = models.CharField(max_length=30)
    name = models.CharField(max_length=120)
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["processor_id", "position", "pk"]
        constraints = [models.UniqueConstraint(fields=["processor", "code"], name="bath_codes_are_unique")]

    def __str__(self) -> str:
        return self.name


class BathSetting(models.Model):
    """The studio's own figures for a bath, in force from a moment until the next row; null: that limit never binds.

    ``as_entered`` keeps every figure as it was written; the integers were rounded once from it.
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


class Feed(models.Model):
    """Sheets through a processor.  Append-only: an undo is a row of its own that names the one it takes back."""

    class Kind(models.TextChoices):
        PRINT = "print"
        TEST_STRIP = "test strip"
        REJECT = "reject"
        CONTROL_STRIP = "control strip"
        HOUSE = "house"
        CLEANING = "cleaning"

    class Who(models.TextChoices):
        BOOKING = "booking"
        MEMBER = "member"
        WALK_IN = "walk-in"
        CLASS = "class"
        HOUSE = "house"
        UNKNOWN = "unknown"

    processor = models.ForeignKey(Processor, on_delete=models.PROTECT, related_name="feeds")
    fed_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    sheet = models.ForeignKey(SheetSize, on_delete=models.PROTECT, related_name="feeds")
    sheets = models.PositiveIntegerField()
    sheet_area_mm2 = models.BigIntegerField(help_text="what one sheet counts: 0 for a cleaning sheet")
    kind = models.CharField(max_length=15, choices=Kind.choices)
    who = models.CharField(max_length=10, choices=Who.choices)
    member = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="feeds"
    )
    booking = models.ForeignKey(Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="feeds")
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    tablet = models.ForeignKey(Tablet, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    undoes = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT, related_name="undone_by")
    file_key = models.CharField(max_length=80, unique=True, null=True, blank=True)

    class Meta:
        ordering = ["fed_at", "pk"]
        indexes = [models.Index(fields=["processor", "fed_at"], name="feed_by_processor")]
        constraints = [
            models.CheckConstraint(condition=Q(sheets__gt=0), name="some_sheets_went_through"),
            AppendOnly(name="feeds_are_append_only", gate="studiodesk_journalgate"),
        ]

    def __str__(self) -> str:
        return f"{self.sheets} × {self.sheet_id}"


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
        NOTE = "note"

    bath = models.ForeignKey(Bath, on_delete=models.PROTECT, related_name="entries")
    event = models.CharField(max_length=20, choices=Event.choices)
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    amount_pl = models.BigIntegerField(null=True, blank=True)
    silver_ug_per_l = models.BigIntegerField(null=True, blank=True)
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


class BathAlert(models.Model):
    """A bath wants something of the desk until it is done."""

    class Kind(models.TextChoices):
        REPLENISHMENT_DUE = "replenishment due"
        AT_ITS_END = "at its end"

    bath = models.ForeignKey(Bath, on_delete=models.PROTECT, related_name="alerts")
    kind = models.CharField(max_length=20, choices=Kind.choices)
    raised_at = models.DateTimeField()
    limit = models.CharField(max_length=20, blank=True)
    cleared_at = models.DateTimeField(null=True, blank=True)
    cleared_by = models.ForeignKey(BathEntry, null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-raised_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["bath", "kind"], condition=Q(cleared_at__isnull=True), name="one_open_alert_a_kind"
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind}: {self.bath_id}"


class StripReading(models.Model):
    """One patch and channel of a control strip, read against its aim."""

    processor = models.ForeignKey(Processor, on_delete=models.PROTECT, related_name="strip_readings")
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
