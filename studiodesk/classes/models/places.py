"""Who comes: places that were asked for, the seats they have, who arrived, and what only the tutor may read."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from studiodesk.bookings.models import Visit
from studiodesk.stations.models import Station

from .courses import Course, Meeting


class Place(models.Model):
    """One sign-up, for a party of so many heads.  While it is waiting or ended it has no seats.

    A guest without an account is known by the address that the link was mailed to.
    """

    class State(models.TextChoices):
        ASKED = "asked"  # a guest's, until the mailed link is opened
        WAITING = "waiting"
        OFFERED = "offered"
        BOOKED = "booked"
        ENDED = "ended"

    reference = models.CharField(max_length=40, unique=True)
    course = models.ForeignKey(Course, on_delete=models.PROTECT, related_name="places")
    member = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="places"
    )
    name = models.CharField(max_length=120, blank=True)
    email = models.EmailField(max_length=254, blank=True)
    heads = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=7, choices=State.choices)
    #: Asked or offered: kept until then.
    until = models.DateTimeField(null=True, blank=True)
    price_minor = models.PositiveIntegerField(default=0)
    adult_name = models.CharField(max_length=120, blank=True)
    made_at = models.DateTimeField()
    #: Its place in the line: whoever waits on after an offer keeps it.
    in_line_since = models.DateTimeField()
    booked_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_because = models.CharField(max_length=20, blank=True)
    was_late = models.BooleanField(default=False)
    offers_run_out = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["in_line_since", "pk"]
        indexes = [models.Index(fields=["course", "state"], name="place_by_course")]
        constraints = [
            models.CheckConstraint(condition=Q(heads__gte=1), name="a_place_has_a_head"),
            models.CheckConstraint(
                condition=Q(state__in=["asked", "offered"], until__isnull=False)
                | (~Q(state__in=["asked", "offered"]) & Q(until__isnull=True)),
                name="what_is_kept_has_an_end",
            ),
            models.CheckConstraint(
                condition=Q(state="ended", ended_at__isnull=False) | (~Q(state="ended") & Q(ended_at__isnull=True)),
                name="a_place_that_ended_says_when",
            ),
            models.CheckConstraint(
                condition=Q(member__isnull=False) | ~Q(email="") | Q(state="ended"), name="somebody_has_the_place"
            ),
            models.UniqueConstraint(
                fields=["course", "member"],
                condition=Q(member__isnull=False) & ~Q(state="ended"),
                name="a_member_signs_up_once",
            ),
        ]

    def __str__(self) -> str:
        return self.reference


class Seat(models.Model):
    """One head of a course.  Numbers run from 1 to the most that the course takes; none is given twice."""

    course = models.ForeignKey(Course, on_delete=models.PROTECT, related_name="seats")
    number = models.PositiveSmallIntegerField()
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="seats")
    name = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(
                fields=["course", "number"],
                name="a_seat_is_taken_once",
                violation_error_code="classes.full",
            ),
            models.CheckConstraint(condition=Q(number__gte=1), name="seats_are_numbered_from_one"),
        ]

    def __str__(self) -> str:
        return f"{self.course_id}/{self.number}"


class Attendance(models.Model):
    """A head at one meeting: whether they came, and where they sit."""

    seat = models.ForeignKey(Seat, on_delete=models.CASCADE, related_name="attendance")
    meeting = models.ForeignKey(Meeting, on_delete=models.PROTECT, related_name="attendance")
    came_at = models.DateTimeField(null=True, blank=True)
    left_at = models.DateTimeField(null=True, blank=True)
    #: Their line in the roll-call; none for whoever was in already.
    visit = models.ForeignKey(Visit, null=True, blank=True, on_delete=models.SET_NULL, related_name="+")
    station = models.ForeignKey(Station, null=True, blank=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["seat", "meeting"], name="a_head_attends_once"),
            models.CheckConstraint(
                condition=Q(left_at__isnull=True) | Q(came_at__isnull=False, left_at__gte=F("came_at")),
                name="whoever_leaves_came",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.seat_id} at {self.meeting_id}"


class PrivateNeed(models.Model):
    """Allergies and what somebody needs to get in or to see: for whoever teaches, and gone a fortnight after."""

    place = models.OneToOneField(Place, on_delete=models.CASCADE, related_name="private_need")
    words = models.TextField()
    said_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"of {self.place_id}"
