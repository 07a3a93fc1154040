"""Who has which station when.  A ``Hold`` row exists if and only if its lane is held."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from studiodesk.constraints import NoOverlap
from studiodesk.stations.models import Lane, LightZone, Process, Processor, Station

from .groups import GroupStay


class Booking(models.Model):
    """What a member asked for, with the times a person sees; cancelling it deletes its holds and keeps the row."""

    class Source(models.TextChoices):
        SITE = "site"
        DESK = "desk"
        FILE = "file"

    class SheetsSaid(models.TextChoices):
        """What somebody answered at sign-out who had logged no sheets."""

        NONE = "none"
        UNKNOWN = "unknown"

    reference = models.CharField(max_length=40, unique=True)
    member = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="bookings")
    station = models.ForeignKey(Station, on_delete=models.PROTECT, related_name="bookings")
    process = models.ForeignKey(Process, null=True, blank=True, on_delete=models.PROTECT, related_name="bookings")
    processor = models.ForeignKey(Processor, null=True, blank=True, on_delete=models.PROTECT, related_name="bookings")
    starts = models.DateTimeField()
    ends = models.DateTimeField()
    made_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    cancelled_at = models.DateTimeField(null=True, blank=True)
    arrived_at = models.DateTimeField(null=True, blank=True)
    left_at = models.DateTimeField(null=True, blank=True)
    source = models.CharField(max_length=6, choices=Source.choices, default=Source.SITE)
    #: Kept for this person until then; taken if they say so, given back if they do not.  None: simply booked.
    offered_until = models.DateTimeField(null=True, blank=True)
    #: Nobody came, and what was left of the time was given back.
    released_at = models.DateTimeField(null=True, blank=True)
    was_cancelled_late = models.BooleanField(default=False)
    guests = models.PositiveSmallIntegerField(default=0)
    adult_name = models.CharField(max_length=120, blank=True)
    sheets_said = models.CharField(max_length=7, choices=SheetsSaid.choices, blank=True)
    series = models.ForeignKey(
        "studiodesk.Series", null=True, blank=True, on_delete=models.PROTECT, related_name="bookings"
    )
    #: How often it was changed, for calendars that follow it.
    sequence = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["starts", "pk"]
        indexes = [
            models.Index(fields=["starts"], name="booking_by_start"),
            models.Index(fields=["member", "starts"], name="booking_by_member"),
            models.Index(fields=["processor", "starts"], name="booking_by_processor"),
            models.Index(fields=["offered_until"], condition=Q(offered_until__isnull=False), name="booking_by_offer"),
        ]
        constraints = [
            models.CheckConstraint(condition=Q(ends__gt=F("starts")), name="booking_ends_after_it_starts"),
            models.CheckConstraint(
                condition=Q(cancelled_at__isnull=True) | Q(cancelled_at__gte=F("made_at")),
                name="booking_cancelled_after_made",
            ),
            models.CheckConstraint(
                condition=Q(processor__isnull=True) | Q(process__isnull=False), name="processor_only_with_a_process"
            ),
        ]

    def __str__(self) -> str:
        return self.reference


class Hold(models.Model):
    """A lane is kept from ``starts`` until ``ends``, set-up and clear-up included."""

    class Cause(models.TextChoices):
        BOOKING = "booking"
        CLOSURE = "closure"
        FAULT = "fault"
        BATH_CHANGE = "bath change"
        SERVICE = "service"
        CLASS = "class"

    lane = models.ForeignKey(Lane, on_delete=models.PROTECT, related_name="holds", db_index=False)
    starts = models.DateTimeField()
    ends = models.DateTimeField()
    cause = models.CharField(max_length=12, choices=Cause.choices)
    booking = models.ForeignKey(Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="holds")
    outage = models.ForeignKey(
        "studiodesk.Outage", null=True, blank=True, on_delete=models.PROTECT, related_name="holds"
    )
    group = models.ForeignKey(GroupStay, null=True, blank=True, on_delete=models.PROTECT, related_name="holds")
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        indexes = [
            models.Index(fields=["lane", "starts"], name="hold_by_lane"),
            models.Index(fields=["starts"], name="hold_by_start"),
        ]
        constraints = [
            models.CheckConstraint(condition=Q(ends__gt=F("starts")), name="hold_ends_after_it_starts"),
            models.CheckConstraint(
                condition=Q(cause="booking", booking__isnull=False) | (~Q(cause="booking") & Q(booking__isnull=True)),
                name="a_booking_hold_names_its_booking",
            ),
            models.CheckConstraint(
                condition=Q(cause="class", group__isnull=False) | (~Q(cause="class") & Q(group__isnull=True)),
                name="a_group_hold_names_its_group",
            ),
            NoOverlap(
                name="a_lane_is_held_once",
                key="lane",
                start="starts",
                end="ends",
                violation_error_code="bookings.taken",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.lane_id} {self.starts:%Y-%m-%d %H:%M}"


class ZoneHold(models.Model):
    """A shared room is kept in one light, for a booking or a group; any number of them may ask for the same."""

    zone = models.ForeignKey(LightZone, on_delete=models.PROTECT, related_name="holds", db_index=False)
    light = models.CharField(max_length=20, choices=Process.Light.choices)
    starts = models.DateTimeField()
    ends = models.DateTimeField()
    booking = models.ForeignKey(Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="zone_holds")
    group = models.ForeignKey(GroupStay, null=True, blank=True, on_delete=models.PROTECT, related_name="zone_holds")

    class Meta:
        indexes = [models.Index(fields=["zone", "starts"], name="zone_hold_by_zone")]
        constraints = [
            models.CheckConstraint(condition=Q(ends__gt=F("starts")), name="zone_hold_ends_after_it_starts"),
            models.CheckConstraint(
                condition=Q(booking__isnull=True, group__isnull=False) | Q(booking__isnull=False, group__isnull=True),
                name="a_room_is_kept_for_a_booking_or_a_group",
            ),
            NoOverlap(
                name="a_zone_has_one_light",
                key="zone",
                start="starts",
                end="ends",
                unlike="light",
                violation_error_code="bookings.light",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.zone_id} {self.light} {self.starts:%Y-%m-%d %H:%M}"
