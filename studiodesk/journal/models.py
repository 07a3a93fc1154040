"""What happened and who did it; who still has to be told; which answers were already given."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from studiodesk.constraints import AppendOnly


class JournalGate(models.Model):
    """One row.  While it stands open, retention may delete entries; nothing else opens it."""

    open = models.BooleanField(default=False)

    def __str__(self) -> str:
        return "open" if self.open else "shut"


class Entry(models.Model):
    """One thing that happened: a code, ids and numbers, never names or free text about people.

    ``happened_at`` is when it was so in the world, ``recorded_at`` when the tool learned of it.
    """

    code = models.CharField(max_length=60)
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField(db_index=True)
    actor = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="entries_made"
    )
    tablet = models.ForeignKey("studiodesk.Tablet", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    about = models.CharField(max_length=30, blank=True)
    about_id = models.BigIntegerField(null=True, blank=True)
    facts = models.JSONField(default=dict, blank=True)

    class Meta:
        verbose_name_plural = "entries"
        indexes = [models.Index(fields=["about", "about_id"], name="entry_by_thing")]
        constraints = [AppendOnly(name="journal_is_append_only", gate="studiodesk_journalgate")]

    def __str__(self) -> str:
        return f"{self.code} {self.happened_at:%Y-%m-%d %H:%M}"


class Notice(models.Model):
    """Somebody has to be told.  Written beside the entry, sent by a sweep that claims it first."""

    class State(models.TextChoices):
        WAITING = "waiting"
        CLAIMED = "claimed"
        SENT = "sent"
        GIVEN_UP = "given up"
        CALLED_OFF = "called off"

    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="notices")
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="notices"
    )
    #: Of somebody without an account.
    address = models.EmailField(max_length=254, blank=True)
    code = models.CharField(max_length=60)
    unique_key = models.CharField(max_length=120, unique=True)
    due_at = models.DateTimeField()
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    claimed_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    tries = models.PositiveSmallIntegerField(default=0)

    class Meta:
        indexes = [models.Index(fields=["state", "due_at"], name="notice_to_send")]
        constraints = [
            models.CheckConstraint(
                condition=Q(person__isnull=False, address="") | (Q(person__isnull=True) & ~Q(address="")),
                name="a_notice_goes_to_a_person_or_an_address",
            )
        ]

    def __str__(self) -> str:
        return f"{self.code} to {self.person_id or 'a guest'}: {self.state}"


class GivenAnswer(models.Model):
    """The answer to a form that carried a key: a second press of the button gets the same answer, not a second act."""

    key = models.CharField(max_length=80)
    asker = models.CharField(max_length=40)
    body_hash = models.CharField(max_length=64)
    answer = models.JSONField(default=dict)
    given_at = models.DateTimeField(db_index=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["asker", "key"], name="a_key_is_answered_once")]

    def __str__(self) -> str:
        return f"{self.asker} {self.key}"


class NoticeChoice(models.Model):
    """Somebody does not want (or does want) one kind of letter; no row: they get it."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="notice_choices")
    topic = models.CharField(max_length=30)
    wanted = models.BooleanField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person", "topic"], name="one_choice_a_topic")]

    def __str__(self) -> str:
        return f"{self.person_id} {self.topic}: {self.wanted}"


class ChoreLease(models.Model):
    """Who does a chore just now, and until when nobody else begins it; a holder that was killed is waited for."""

    name = models.CharField(max_length=40, unique=True)
    holder = models.CharField(max_length=80, blank=True)
    until = models.DateTimeField(null=True, blank=True)
    last_done_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return self.name
