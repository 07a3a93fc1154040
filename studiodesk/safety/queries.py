"""Reads of safety notes and of who has read which."""

from __future__ import annotations

from django.db.models import Count, Exists, F, OuterRef, QuerySet, Subquery

from studiodesk.people.models import Member
from studiodesk.stations.models import Processor

from .models import SafetyAcknowledgement, SafetyNote


def current_notes() -> QuerySet[SafetyNote]:
    """The note in force of every processor that has one."""
    latest = SafetyNote.objects.filter(processor=OuterRef("processor")).order_by("-version").values("version")[:1]
    notes = SafetyNote.objects.select_related("processor__process").filter(version=Subquery(latest))
    return notes.order_by("processor__pk")


def current_note(processor: Processor) -> SafetyNote | None:
    """The greatest version, or None if the processor has no note."""
    return SafetyNote.objects.filter(processor=processor).order_by("-version").first()


def _with_read(notes: QuerySet[SafetyNote], member: Member) -> QuerySet[SafetyNote]:
    mine = SafetyAcknowledgement.objects.filter(note=OuterRef("pk"), member=member)
    return notes.annotate(is_read=Exists(mine))


def outstanding_note(member: Member, processor: Processor) -> SafetyNote | None:
    """The current note if this member has not acknowledged it, else None; one query."""
    note = _with_read(SafetyNote.objects.filter(processor=processor), member).order_by("-version").first()
    return note if note is not None and not note.is_read else None


def notes_for(member: Member) -> list[SafetyNote]:
    """The current notes, each with ``is_read`` by this member, and ``readers``: how many have read it."""
    return list(_with_read(current_notes(), member).annotate(readers=Count("acknowledgements")))


def acknowledged_at(note: SafetyNote, member: Member) -> SafetyAcknowledgement | None:
    return SafetyAcknowledgement.objects.filter(note=note, member=member).first()


def acknowledgements_of(member: Member) -> QuerySet[SafetyAcknowledgement]:
    """What somebody has read of what is in force now, by processor."""
    latest = SafetyNote.objects.filter(processor=OuterRef("note__processor")).order_by("-version").values("version")[:1]
    found = SafetyAcknowledgement.objects.filter(member=member).annotate(latest=Subquery(latest))
    return found.filter(note__version=F("latest")).select_related("note__processor").order_by("note__processor__pk")


def access_processor(code: str) -> Processor:
    """A processor by its code; ``Processor.DoesNotExist`` otherwise.  Every member may read every note."""
    return Processor.objects.select_related("process").get(code=code)
