"""The dates: a course with its meetings, and what a group that hires agreed to."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from studiodesk.bookings.models import GroupStay

from .outlines import Outline


class Course(models.Model):
    """One run of an outline, or something of its own: one or several meetings that people sign up for together.

    ``is_private``: only whoever has the link to it may sign up.  ``drop_in``: nobody signs up, heads are
    counted as they come.
    """

    class Decided(models.TextChoices):
        GO = "go"
        OFF = "off"

    #: What a course is called off for by rule; pages and letters say it in the reader's words.
    TOO_FEW = "too few"

    reference = models.CharField(max_length=40, unique=True)
    outline = models.ForeignKey(Outline, null=True, blank=True, on_delete=models.PROTECT, related_name="courses")
    title = models.CharField(max_length=120)
    sort = models.CharField(max_length=12, choices=GroupStay.Sort.choices, default=GroupStay.Sort.CLASS)
    summary = models.TextField(blank=True)
    level = models.CharField(max_length=20, choices=Outline.Level.choices, blank=True)
    bring = models.TextField(blank=True)
    tutor = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="courses_taught"
    )
    heads_least = models.PositiveSmallIntegerField(default=1)
    heads_most = models.PositiveSmallIntegerField()
    heads_a_station = models.PositiveSmallIntegerField(default=1)
    minimum_age = models.PositiveSmallIntegerField(null=True, blank=True)
    price_minor = models.PositiveIntegerField(default=0)
    member_price_minor = models.PositiveIntegerField(null=True, blank=True)
    free_cancel_days = models.PositiveSmallIntegerField(default=7)
    decide_at = models.DateTimeField(null=True, blank=True)
    decided = models.CharField(max_length=3, choices=Decided.choices, blank=True)
    decided_at = models.DateTimeField(null=True, blank=True)
    called_off_because = models.CharField(max_length=200, blank=True)
    is_private = models.BooleanField(default=False)
    #: A link names it; made anew, the links before open nothing any more.
    invitation = models.PositiveSmallIntegerField(default=0)
    drop_in = models.BooleanField(default=False)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    #: Whoever had booked before may give their place back for nothing.
    moved_at = models.DateTimeField(null=True, blank=True)
    sequence = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=Q(heads_most__gte=F("heads_least")), name="a_course_has_room"),
            models.CheckConstraint(
                condition=(Q(decided="") & Q(decided_at__isnull=True)) | (~Q(decided="") & Q(decided_at__isnull=False)),
                name="what_is_decided_has_its_time",
            ),
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def is_off(self) -> bool:
        return self.decided == self.Decided.OFF

    @property
    def lacked_people(self) -> bool:
        """It was called off by rule."""
        return self.called_off_because == self.TOO_FEW


class Meeting(models.Model):
    """One time at which a course comes together; ``stay`` has its times and what is kept for it."""

    course = models.ForeignKey(Course, on_delete=models.PROTECT, related_name="meetings")
    stay = models.OneToOneField(GroupStay, on_delete=models.PROTECT, related_name="meeting")
    notes = models.TextField(blank=True, help_text="For whoever teaches the next one.")
    tally = models.PositiveSmallIntegerField(default=0, help_text="Heads that dropped in.")

    class Meta:
        ordering = ["stay__starts", "pk"]

    def __str__(self) -> str:
        return f"{self.course_id} {self.stay_id}"


class Hire(models.Model):
    """A school or a club has the house, or a part of it: who answers for it, how many look after it, at what price."""

    course = models.OneToOneField(Course, on_delete=models.PROTECT, related_name="hire")
    organisation = models.CharField(max_length=120)
    contact_name = models.CharField(max_length=120)
    contact_email = models.EmailField(max_length=254)
    contact_phone = models.CharField(max_length=40, blank=True)
    heads = models.PositiveSmallIntegerField()
    supervisors = models.PositiveSmallIntegerField(default=0)
    heads_a_supervisor = models.PositiveSmallIntegerField(null=True, blank=True)
    quote_minor = models.PositiveIntegerField(null=True, blank=True)
    quote_terms = models.TextField(blank=True)
    agreed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(heads__gte=1), name="a_group_that_hires_has_a_head")]

    def __str__(self) -> str:
        return self.organisation
