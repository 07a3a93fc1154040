"""Rules of the house, what is out of service, faults, who else is in, and links to calendars."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from studiodesk.people.models import MembershipPlan, Tablet
from studiodesk.stations.models import Resource, Service, Station

from .groups import GroupStay
from .holds import Booking


class HouseRule(models.Model):
    """One number of the house's rules from a day on; ``plan`` None: for everybody whose plan says nothing of it.

    ``value`` None means that there is no limit.  A rule is never changed: a new row holds from its day on.
    """

    code = models.CharField(max_length=40)
    plan = models.ForeignKey(MembershipPlan, null=True, blank=True, on_delete=models.PROTECT, related_name="rules")
    value = models.IntegerField(null=True, blank=True)
    in_force_from = models.DateField()
    set_at = models.DateTimeField()
    set_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["code", "in_force_from", "pk"]
        indexes = [models.Index(fields=["in_force_from"], name="rule_by_day")]

    def __str__(self) -> str:
        return f"{self.code} {self.value} from {self.in_force_from}"


class Outage(models.Model):
    """Stations, processors or kit are out of service from ``starts`` until ``ends``.

    It holds their lanes wherever no booking does.  Bookings that stand there are hit: they are listed, moved or
    cancelled one by one, and what they give back falls to the outage at once.
    """

    class Cause(models.TextChoices):
        CLOSURE = "closure"
        FAULT = "fault"
        BATH_CHANGE = "bath change"
        SERVICE = "service"

    cause = models.CharField(max_length=12, choices=Cause.choices)
    service = models.ForeignKey(Service, null=True, blank=True, on_delete=models.PROTECT, related_name="outages")
    resources = models.ManyToManyField(Resource, related_name="outages")
    starts = models.DateTimeField()
    ends = models.DateTimeField()
    reason = models.CharField(max_length=200, blank=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["starts", "pk"]
        indexes = [models.Index(fields=["ends"], name="outage_by_end")]
        constraints = [
            models.CheckConstraint(condition=Q(ends__gt=F("starts")), name="outage_ends_after_it_starts"),
            models.CheckConstraint(
                condition=Q(service__isnull=True) | Q(cause="service"), name="only_a_service_names_a_service"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.cause} {self.starts:%Y-%m-%d %H:%M}"


class FaultReport(models.Model):
    """Somebody says that something does not work."""

    resource = models.ForeignKey(Resource, on_delete=models.PROTECT, related_name="faults")
    what = models.CharField(max_length=200)
    reported_at = models.DateTimeField()
    reported_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    tablet = models.ForeignKey(Tablet, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    outage = models.ForeignKey(Outage, null=True, blank=True, on_delete=models.SET_NULL, related_name="faults")
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["-reported_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.resource_id} {self.reported_at:%Y-%m-%d %H:%M}"


class Visit(models.Model):
    """Somebody is in the house without a booking of their own: keyholder, tutor, walk-in, a booking's guests, or one
    of a group (of a drop-in all who are in, as one row)."""

    class Kind(models.TextChoices):
        KEYHOLDER = "keyholder"
        TUTOR = "tutor"
        WALK_IN = "walk-in"
        GUEST = "guest"
        GROUP = "group"

    kind = models.CharField(max_length=10, choices=Kind.choices)
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="visits"
    )
    name = models.CharField(max_length=120, blank=True)
    heads = models.PositiveSmallIntegerField(default=1)
    booking = models.ForeignKey(Booking, null=True, blank=True, on_delete=models.PROTECT, related_name="guests_in")
    group = models.ForeignKey(GroupStay, null=True, blank=True, on_delete=models.PROTECT, related_name="visits")
    emergency_phone = models.CharField(max_length=40, blank=True)
    came_at = models.DateTimeField()
    left_at = models.DateTimeField(null=True, blank=True)
    noted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["came_at", "pk"]
        indexes = [models.Index(fields=["left_at", "came_at"], name="visit_by_leaving")]
        constraints = [
            models.CheckConstraint(condition=Q(heads__gte=1), name="a_visit_has_a_head"),
            models.CheckConstraint(
                condition=Q(left_at__isnull=True) | Q(left_at__gte=F("came_at")), name="a_visit_ends_after_it_starts"
            ),
            models.UniqueConstraint(fields=["person"], condition=Q(left_at__isnull=True), name="nobody_is_in_twice"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.came_at:%Y-%m-%d %H:%M}"


class CalendarLink(models.Model):
    """A private address at which a calendar reads one's own bookings, or a station's.  Only a hash of it is kept."""

    member = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="calendar_links")
    station = models.ForeignKey(Station, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_used_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at", "-pk"]

    def __str__(self) -> str:
        return f"of {self.member_id}"
