"""Safety notes and who has read which version."""

from django.conf import settings
from django.db import models

from studiodesk.stations.models import Processor


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
