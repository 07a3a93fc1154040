"""Reads of safety notes and of who has read which; of sign-offs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet, Subquery

from studiodesk.people.models import Member
from studiodesk.stations.models import Process, Processor

from .models import SafetyAcknowledgement, SafetyNote, SignOff, SignOffNeed


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


def _valid(at: datetime) -> Q:
    return Q(revoked_at__isnull=True) & (Q(until__isnull=True) | Q(until__gt=at))


def missing_sign_offs(kind: str, process_id: int | None, at: datetime, member: str = "pk") -> dict[str, Exists]:
    """For an annotation on people: ``lacks_kind`` and ``lacks_process``, true where a sign-off is needed and missing.

    Missing is also one that was taken back or has run out at ``at``.  ``member`` is the way from the annotated row to
    the person.
    """

    def lacks(needs: QuerySet[SignOffNeed], **of: Any) -> Exists:
        signed = SignOff.objects.filter(_valid(at), member=OuterRef(OuterRef(member)), **of)
        return Exists(needs.filter(~Exists(signed)))

    of_process = SignOffNeed.objects.none() if process_id is None else SignOffNeed.objects.filter(process=process_id)
    of_kind = SignOffNeed.objects.none() if not kind else SignOffNeed.objects.filter(kind=kind)
    return {"lacks_kind": lacks(of_kind, kind=kind), "lacks_process": lacks(of_process, process=process_id)}


def not_signed_off(member: Member, kind: str, process: Process | None, at: datetime) -> list[str]:
    """What this person needs a sign-off for and has none that holds at ``at``: the kind and the process's name."""
    asked = missing_sign_offs(kind, process.pk if process else None, at)
    found = Member.objects.filter(pk=member.pk).annotate(**asked).values("lacks_kind", "lacks_process").first() or {}
    names = [kind] if found.get("lacks_kind") else []
    return [*names, process.name] if process is not None and found.get("lacks_process") else names


def valid_sign_offs(at: datetime) -> QuerySet[SignOff]:
    """Sign-offs that hold at ``at``."""
    return SignOff.objects.filter(_valid(at))


def sign_offs_of(member: Member) -> QuerySet[SignOff]:
    """Every sign-off somebody was ever given, the latest first."""
    found = SignOff.objects.filter(member=member).select_related("process", "given_by", "revoked_by")
    return found.order_by("-given_at", "-pk")


def _with_last(row: Any) -> Any:
    """``last_moment``: a moment of the last day on which it holds; it runs out at the midnight after it."""
    row.last_moment = row.until - timedelta(microseconds=1) if row.until else None
    return row


def sign_off(pk: int | None) -> Any:
    """A sign-off that a letter is about, or None."""
    found = SignOff.objects.filter(pk=pk).select_related("process", "given_by", "member").first()
    return found and _with_last(found)


def access_sign_off(by: Member, pk: int) -> Any:
    """One sign-off for tutors and staff; ``SignOff.DoesNotExist`` for everyone else."""
    found = SignOff.objects.select_related("process", "given_by", "member")
    return _with_last(found.get(pk=pk) if by.is_tutor or by.is_staff else found.none().get())


def latest_sign_offs(limit: int = 30) -> list[Any]:
    rows = SignOff.objects.select_related("process", "given_by", "revoked_by", "member")
    return [_with_last(row) for row in rows[:limit]]


@dataclass(frozen=True)
class Needed:
    """What needs a sign-off, and how many people here are signed off for it now."""

    need: SignOffNeed
    signed: int

    @property
    def name(self) -> str:
        return what_of(self.need)


def what_of(row: SignOff | SignOffNeed) -> str:
    """What a need or a sign-off is for, as people call it: the kind of station, or the process's name."""
    return row.kind if row.process is None else row.process.name


def needs(now: datetime) -> list[Needed]:
    """What needs a sign-off: kinds of station first; two queries."""
    rows = SignOffNeed.objects.select_related("process").order_by("process", "kind", "pk")
    held = valid_sign_offs(now).filter(member__is_active=True).order_by()
    people: dict[tuple[str, int | None], set[int]] = {}
    for kind, process, member in held.values_list("kind", "process", "member"):
        people.setdefault((kind, process), set()).add(member)
    found = [Needed(row, len(people.get((row.kind, row.process_id), ()))) for row in rows]
    return sorted(found, key=lambda one: (one.need.process_id is not None, one.name))


def access_need(pk: int) -> SignOffNeed:
    return SignOffNeed.objects.select_related("process").get(pk=pk)


@dataclass(frozen=True)
class OwnSignOffs:
    """``holding``: the sign-offs that hold, one for each thing, the one that holds longest; ``lacking``: names of
    what needs one that this person does not have."""

    holding: list[SignOff]
    lacking: list[str]


def own_sign_offs(member: Member, now: datetime) -> OwnSignOffs:
    """What somebody is signed off for now, and what they would still need; two queries."""
    best: dict[tuple[str, int | None], SignOff] = {}
    for row in map(_with_last, sign_offs_of(member).filter(_valid(now))):
        other = best.get((row.kind, row.process_id))
        if other is None or (other.until is not None and (row.until is None or row.until > other.until)):
            best[row.kind, row.process_id] = row
    rows = SignOffNeed.objects.select_related("process").order_by("process", "kind", "pk")
    lacking = [what_of(need) for need in rows if (need.kind, need.process_id) not in best]
    return OwnSignOffs(sorted(best.values(), key=what_of), lacking)
