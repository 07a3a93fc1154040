"""Kinds of paper and film, the sizes they come in, and what went through a processor."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from studiodesk import manner
from studiodesk.bookings.models import Booking, GroupStay
from studiodesk.constraints import AppendOnly
from studiodesk.people.models import Tablet
from studiodesk.stations.models import Process, Processor


class PaperClass(models.Model):
    """A kind of paper or film that has rates of its own: RC, fibre, baryta.  Its processes say where it may go."""

    code = models.CharField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    processes = models.ManyToManyField(Process, blank=True, related_name="papers")

    class Meta:
        ordering = ["name", "pk"]
        verbose_name_plural = "paper classes"

    def __str__(self) -> str:
        return self.name


class SheetSize(models.Model):
    """A size has one exact size in mm and names in inches and centimetres that are never converted.

    A roll has a width, its length is said when it goes through; a film counts the area that the studio set for it.
    """

    class Sort(models.TextChoices):
        SHEET = "sheet"
        ROLL = "roll"
        FILM = "film"

    code = models.CharField(max_length=30, unique=True)
    name = models.CharField(max_length=60)
    inches = models.CharField(max_length=30, blank=True)
    centimetres = models.CharField(max_length=30, blank=True)
    sort = models.CharField(max_length=5, choices=Sort.choices, default=Sort.SHEET)
    width_mm = models.PositiveIntegerField()
    length_mm = models.PositiveIntegerField()
    film_area_mm2 = models.PositiveIntegerField(null=True, blank=True)
    in_use = models.BooleanField(default=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(sort="sheet", width_mm__gt=0, length_mm__gt=0, film_area_mm2__isnull=True)
                | Q(sort="roll", width_mm__gt=0, length_mm=0, film_area_mm2__isnull=True)
                | Q(sort="film", film_area_mm2__gt=0),
                name="a_size_has_an_area",
            )
        ]

    def __str__(self) -> str:
        return self.label

    @property
    def label(self) -> str:
        """ "20×25 cm / 8×10 in", the house's own way first: both names if there are both, else the one there is."""
        both = [name for name in (self.centimetres, self.inches) if name]
        if manner.current().inches:
            both.reverse()
        return " / ".join(both) if len(both) == 2 else self.name

    @property
    def area_mm2(self) -> int:
        """What one counts; 0 for a roll, whose pieces have lengths of their own."""
        return self.film_area_mm2 or self.width_mm * self.length_mm

    @property
    def is_roll(self) -> bool:
        return self.sort == self.Sort.ROLL


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
    paper = models.ForeignKey(
        PaperClass,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="feeds",
        help_text="none: the paper of the process",
    )
    sheets = models.PositiveIntegerField()
    length_mm = models.PositiveIntegerField(null=True, blank=True, help_text="how long a piece off a roll was")
    sheet_area_mm2 = models.BigIntegerField(help_text="what one sheet counts: 0 for a cleaning sheet")
    kind = models.CharField(max_length=15, choices=Kind.choices)
    who = models.CharField(max_length=10, choices=Who.choices)
    member = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="feeds"
    )
    booking = models.ForeignKey(Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="feeds")
    group = models.ForeignKey(GroupStay, null=True, blank=True, on_delete=models.PROTECT, related_name="feeds")
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    tablet = models.ForeignKey(Tablet, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    undoes = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT, related_name="undone_by")
    file_key = models.CharField(max_length=80, unique=True, null=True, blank=True)
    tablet_key = models.UUIDField(
        unique=True,
        null=True,
        blank=True,
        help_text="made by the tablet at the tap: counts once, however often sent",
    )

    class Meta:
        ordering = ["fed_at", "pk"]
        indexes = [models.Index(fields=["processor", "fed_at"], name="feed_by_processor")]
        constraints = [
            models.CheckConstraint(condition=Q(sheets__gt=0), name="some_sheets_went_through"),
            AppendOnly(name="feeds_are_append_only", gate="studiodesk_journalgate"),
        ]

    def __str__(self) -> str:
        return f"{self.sheets} × {self.sheet_id}"
