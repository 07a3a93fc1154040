"""What people look for: their usual need, the waiting list, and what it offered them."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from .holds import Booking


class UsualNeed(models.Model):
    """What a member mostly comes for: the answers to "What do you want to make?", kept."""

    member = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="usual_need")
    need = models.JSONField(default=dict)
    kept_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"of {self.member_id}"


class WaitingWish(models.Model):
    """Somebody waits for a need to be had on one of these days.  Who wished first is asked first."""

    class State(models.TextChoices):
        WAITING = "waiting"
        OFFERED = "offered"
        SERVED = "served"
        ENDED = "ended"

    member = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="wishes")
    made_at = models.DateTimeField()
    need = models.JSONField(default=dict)
    first_day = models.DateField()
    last_day = models.DateField()
    #: Instants between which the stay has to lie: the days wished, cut down to the hours wished if there are any.
    not_before = models.DateTimeField()
    not_after = models.DateTimeField()
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["made_at", "pk"]
        indexes = [models.Index(fields=["state", "not_before"], name="wish_by_state")]
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="wish_ends_after_it_starts"),
            models.CheckConstraint(condition=Q(not_after__gt=F("not_before")), name="wish_has_room"),
        ]

    def __str__(self) -> str:
        return f"{self.member_id} {self.first_day}"


class Offer(models.Model):
    """A real booking kept for whoever waited, until they answer or the time is up."""

    class Answer(models.TextChoices):
        TAKEN = "taken"
        DECLINED = "declined"
        RAN_OUT = "ran out"

    wish = models.ForeignKey(WaitingWish, on_delete=models.PROTECT, related_name="offers")
    booking = models.OneToOneField(Booking, on_delete=models.PROTECT, related_name="offer")
    made_at = models.DateTimeField()
    until = models.DateTimeField()
    answer = models.CharField(max_length=8, choices=Answer.choices, blank=True)
    answered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["made_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["wish"], condition=Q(answer=""), name="one_open_offer_a_wish"),
            models.CheckConstraint(condition=Q(until__gt=F("made_at")), name="an_offer_stands_for_a_while"),
        ]

    def __str__(self) -> str:
        return f"{self.wish_id}: {self.booking_id}"
