"""People who come together: a class, a talk, an open evening, a group that hires; and a room that is kept for weeks."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from studiodesk.stations.models import Process


class GroupStay(models.Model):
    """One time at which a group is in.  What it keeps is kept as a whole, in one act, or not at all.

    ``starts`` and ``ends`` are what people are told; its stations are kept ``before_minutes`` longer to prepare and
    ``after_minutes`` longer to clear up.  ``heads`` is the most that may come, whoever leads them included; a room that
    is kept has none.  Cancelling it deletes its holds and keeps the row.
    """

    class Sort(models.TextChoices):
        CLASS = "class"
        TALK = "talk"
        OPEN = "open evening"
        HIRE = "hire"
        ROOM = "room kept"

    title = models.CharField(max_length=160)
    sort = models.CharField(max_length=12, choices=Sort.choices, default=Sort.CLASS)
    starts = models.DateTimeField()
    ends = models.DateTimeField()
    before_minutes = models.PositiveSmallIntegerField(default=0)
    after_minutes = models.PositiveSmallIntegerField(default=0)
    heads = models.PositiveSmallIntegerField(default=0)
    process = models.ForeignKey(Process, null=True, blank=True, on_delete=models.PROTECT, related_name="group_stays")
    led_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="groups_led"
    )
    shows_title = models.BooleanField(default=False, help_text="Members may read what it is.")
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    cancelled_at = models.DateTimeField(null=True, blank=True)
    #: How often it was changed, for calendars that follow it.
    sequence = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["starts", "pk"]
        indexes = [
            models.Index(fields=["starts"], name="group_by_start"),
            models.Index(fields=["ends"], name="group_by_end"),
        ]
        constraints = [
            models.CheckConstraint(condition=Q(ends__gt=F("starts")), name="a_group_leaves_after_it_comes"),
            models.CheckConstraint(
                condition=Q(cancelled_at__isnull=True) | Q(cancelled_at__gte=F("made_at")),
                name="a_group_is_cancelled_after_it_is_made",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.title} {self.starts:%Y-%m-%d %H:%M}"
