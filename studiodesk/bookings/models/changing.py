"""What a booking takes along, what was changed of it, and bookings that recur."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from studiodesk.stations.models import KitItem, Process, Station

from .holds import Booking


class BookingKit(models.Model):
    """A booking takes so many pieces of one item along; they are held like everything else."""

    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="kit")
    item = models.ForeignKey(KitItem, on_delete=models.PROTECT, related_name="bookings")
    pieces = models.PositiveSmallIntegerField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["booking", "item"], name="an_item_stands_once_in_a_booking"),
            models.CheckConstraint(condition=Q(pieces__gte=1), name="at_least_one_piece_is_taken"),
        ]

    def __str__(self) -> str:
        return f"{self.pieces} of {self.item_id}"


class BookingChange(models.Model):
    """A booking as it was before one change, so that the change can be taken back.

    ``before`` holds station, process and kit by id, and the times as ISO 8601; ``cancelled`` tells that it was a
    cancellation.
    """

    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="changes")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    before = models.JSONField(default=dict)
    cancelled = models.BooleanField(default=False)
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.booking_id} {self.at:%Y-%m-%d %H:%M}"


class Series(models.Model):
    """The same local time every so many weeks; each occurrence is a booking of its own."""

    member = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="series")
    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="+")
    process = models.ForeignKey(Process, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    every_weeks = models.PositiveSmallIntegerField(default=1)
    first_day = models.DateField()
    last_day = models.DateField()
    begins_minute = models.PositiveSmallIntegerField(help_text="Local time, minutes after midnight.")
    length_minutes = models.PositiveSmallIntegerField()
    made_at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "series"
        constraints = [
            models.CheckConstraint(condition=Q(every_weeks__gte=1), name="a_series_recurs_each_week_at_most"),
            models.CheckConstraint(condition=Q(begins_minute__lt=1440), name="a_series_begins_within_a_day"),
        ]

    def __str__(self) -> str:
        return f"{self.member_id} from {self.first_day}"
