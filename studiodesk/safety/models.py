"""Safety notes and who has read which version."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from studiodesk.stations.models import Process, Processor


class SafetyNote(models.Model):
    """One version of a processor's safety note; the greatest version is the current one."""

    processor = models.ForeignKey(Processor, on_delete=models.PROTECT, related_name="safety_notes")
    version = models.PositiveIntegerField()
    title = models.CharField(max_length=200)
    body = models.TextField(help_text="Paragraphs parted by an empty line; lines that begin with '- ' are a list.")
    published_at = models.DateTimeField()
    published_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["processor_id", "-version"]
        constraints = [models.UniqueConstraint(fields=["processor", "version"], name="one_note_a_version")]

    def __str__(self) -> str:
        return f"{self.title}, version {self.version}"


class SafetyAcknowledgement(models.Model):
    note = models.ForeignKey(SafetyNote, on_delete=models.PROTECT, related_name="acknowledgements")
    member = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="acknowledgements")
    acknowledged_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["note", "member"], name="a_note_is_acknowledged_once")]

    def __str__(self) -> str:
        return f"{self.member_id} read {self.note_id}"


class SignOffNeed(models.Model):
    """A kind of station, or a process, that only people who were signed off for it may book alone."""

    kind = models.CharField(max_length=60, blank=True)
    process = models.ForeignKey(Process, null=True, blank=True, on_delete=models.PROTECT, related_name="sign_off_needs")
    lasts_days = models.PositiveIntegerField(null=True, blank=True, help_text="Empty: a sign-off does not run out.")
    made_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=(Q(kind="") & Q(process__isnull=False)) | (~Q(kind="") & Q(process__isnull=True)),
                name="a_need_is_of_a_kind_or_a_process",
            ),
            models.UniqueConstraint(fields=["kind"], condition=~Q(kind=""), name="one_need_a_kind"),
            models.UniqueConstraint(fields=["process"], name="one_need_a_process"),
        ]

    def __str__(self) -> str:
        return self.kind or f"process {self.process_id}"


class SignOff(models.Model):
    """``given_by`` saw that ``member`` can do it.  Until when it holds was said when it was given."""

    member = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="sign_offs")
    kind = models.CharField(max_length=60, blank=True)
    process = models.ForeignKey(Process, null=True, blank=True, on_delete=models.PROTECT, related_name="sign_offs")
    given_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    given_at = models.DateTimeField()
    until = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ["-given_at", "-pk"]
        indexes = [models.Index(fields=["member"], name="sign_off_by_member")]
        constraints = [
            models.CheckConstraint(
                condition=(Q(kind="") & Q(process__isnull=False)) | (~Q(kind="") & Q(process__isnull=True)),
                name="a_sign_off_is_of_a_kind_or_a_process",
            ),
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gt=F("given_at")), name="a_sign_off_ends_later"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.member_id} {self.kind or self.process_id}"
