"""The house itself: when it is open, its stations and processors, and the rows that are locked for them."""

from datetime import date

from django.db import models
from django.db.models import F, Q

WEEKDAYS = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]


class Studio(models.Model):
    """One row: one studio per database."""

    class Clock(models.TextChoices):
        DAY = "24"
        HALF_DAYS = "12"

    class Units(models.TextChoices):
        METRIC = "metric"
        INCH = "inch"

    name = models.CharField(max_length=120)
    time_zone = models.CharField(max_length=60)
    currency = models.CharField(max_length=3)
    currency_digits = models.PositiveSmallIntegerField(default=2)
    language = models.CharField(max_length=10, default="en-gb", help_text="for whoever chose none: pages and letters")
    clock = models.CharField(max_length=2, choices=Clock.choices, default=Clock.DAY, help_text="hours in a round")
    units = models.CharField(max_length=6, choices=Units.choices, default=Units.METRIC)
    grid_minutes = models.PositiveSmallIntegerField(default=15)
    heads_at_once = models.PositiveIntegerField(null=True, blank=True)
    opens_by_shifts = models.BooleanField(
        default=False, help_text="Open while a keyholder has taken a shift, instead of by the week's opening hours."
    )

    def __str__(self) -> str:
        return self.name


class OpeningSpan(models.Model):
    """One span of local time on which the house is open each week; 24:00 is kept as minute 1440."""

    weekday = models.PositiveSmallIntegerField(help_text="0 is Monday")
    opens_minute = models.PositiveSmallIntegerField()
    closes_minute = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["weekday", "opens_minute"]
        constraints = [
            models.CheckConstraint(
                condition=Q(closes_minute__gt=F("opens_minute")) & Q(closes_minute__lte=1440) & Q(weekday__lte=6),
                name="opening_ends_after_it_starts",
            )
        ]

    def __str__(self) -> str:
        return f"{WEEKDAYS[self.weekday]} {self.opens_minute}-{self.closes_minute}"


class Closure(models.Model):
    """Days on which the whole house is closed to members, both dates included."""

    first_day = models.DateField()
    last_day = models.DateField()
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["first_day"]
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="closure_ends_after_it_starts")
        ]

    def __str__(self) -> str:
        return f"{self.first_day} to {self.last_day}"

    def covers(self, day: date) -> bool:
        return self.first_day <= day <= self.last_day


class Process(models.Model):
    class Light(models.TextChoices):
        SAFELIGHT = "safelight"
        DARK = "total darkness"
        WHITE = "white"

    class Material(models.TextChoices):
        PAPER = "paper"
        FILM = "film"

    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=120)
    material = models.CharField(max_length=5, choices=Material.choices, default=Material.PAPER)
    paper = models.CharField(max_length=60, blank=True)
    light = models.CharField(max_length=20, choices=Light.choices)

    class Meta:
        ordering = ["pk"]
        verbose_name_plural = "processes"

    def __str__(self) -> str:
        return self.name


class Resource(models.Model):
    """The row that is locked when a station or a processor is asked for."""

    class Sort(models.TextChoices):
        STATION = "station"
        PROCESSOR = "processor"
        KIT = "kit"

    sort = models.CharField(max_length=10, choices=Sort.choices)

    def __str__(self) -> str:
        return f"{self.sort} {self.pk}"


class Lane(models.Model):
    """One place at a resource: a booth has one, a processor as many as it serves booths at once."""

    resource = models.ForeignKey(Resource, on_delete=models.PROTECT, related_name="lanes")
    number = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["resource_id", "number"]
        constraints = [models.UniqueConstraint(fields=["resource", "number"], name="lane_numbers_are_unique")]

    def __str__(self) -> str:
        return f"{self.resource_id}/{self.number}"


class Processor(models.Model):
    """A machine or a tray line with its baths."""

    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=120)
    resource = models.OneToOneField(Resource, on_delete=models.PROTECT, related_name="processor")
    process = models.ForeignKey(Process, on_delete=models.PROTECT, related_name="processors")
    feed_width_mm = models.PositiveIntegerField()
    shortest_feed_mm = models.PositiveIntegerField(default=0)
    warm_up_minutes = models.PositiveIntegerField(default=0)
    dry_to_dry_minutes = models.PositiveIntegerField(default=0)
    closing_down_minutes = models.PositiveIntegerField(default=0)
    bath_change_minutes = models.PositiveIntegerField(default=120)
    booths_at_once = models.PositiveSmallIntegerField()
    needs = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.name


class LightZone(models.Model):
    """A room whose light its stations share; a station in its own cubicle has none."""

    name = models.CharField(max_length=120, unique=True)
    heads_at_most = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="How many people may be in it, as the fire rules say; empty: no figure."
    )

    def __str__(self) -> str:
        return self.name


class Station(models.Model):
    """A booth, a scanning station, a bay: what a person sits down at."""

    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=60, db_index=True)
    resource = models.OneToOneField(Resource, on_delete=models.PROTECT, related_name="station")
    formats = models.JSONField(default=list, blank=True)
    light_source = models.CharField(max_length=60, blank=True)
    zone = models.ForeignKey(LightZone, null=True, blank=True, on_delete=models.PROTECT, related_name="stations")
    processes = models.ManyToManyField(Process, blank=True, related_name="stations")
    largest_print_mm = models.JSONField(null=True, blank=True)
    set_up_minutes = models.PositiveIntegerField(default=0)
    clear_up_minutes = models.PositiveIntegerField(default=0)
    needs = models.JSONField(default=list, blank=True)
    step_free = models.BooleanField(default=False)
    bench_height_mm = models.PositiveIntegerField(null=True, blank=True)
    has_colour_filters = models.BooleanField(default=False)
    heads_at_most = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="How many people may be at it, as the fire rules say; empty: no figure."
    )

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.name


class KitItem(models.Model):
    """What a booking takes along: so many lenses, carriers, tanks, or places to dry and to wash.

    Its resource has one lane for each, and a lane is held once: never more are promised than there are.  By default it
    is kept for the booking's own times; with ``from_end_minutes`` it begins so long before the booking ends, and
    ``outlasts_minutes`` keeps it after the end (film dries, prints wash).
    """

    class Sort(models.TextChoices):
        LENS = "lens"
        CARRIER = "negative carrier"
        MASKING_FRAME = "masking frame"
        FOCUSER = "grain focuser"
        LIGHT_BOX = "light box"
        TANK = "tank"
        REEL = "reel"
        DRYING = "drying"
        WASHING = "washing"
        OTHER = "other"

    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=120)
    sort = models.CharField(max_length=20, choices=Sort.choices, default=Sort.OTHER)
    resource = models.OneToOneField(Resource, on_delete=models.PROTECT, related_name="kit")
    pieces = models.PositiveSmallIntegerField()
    kinds = models.JSONField(default=list, blank=True, help_text="Kinds of station it goes with; none: with any.")
    process_codes = models.JSONField(default=list, blank=True, help_text="Processes it goes with; none: with any.")
    from_end_minutes = models.PositiveIntegerField(null=True, blank=True)
    outlasts_minutes = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["sort", "name", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(outlasts_minutes__lte=720), name="kit_outlasts_half_a_day_at_most")
        ]

    def __str__(self) -> str:
        return self.name
