"""Safety notes: published in versions, acknowledged by members."""

from __future__ import annotations

from datetime import datetime

from studiodesk.acts import act, locked
from studiodesk.answers import refuse
from studiodesk.journal import actions as journal
from studiodesk.people.models import Member
from studiodesk.stations.models import Processor

from . import queries, texts
from .models import SafetyAcknowledgement, SafetyNote


@act
def publish_note(
    *, processor: Processor, title: str, body: str, now: datetime, by: Member | None = None, news: str = ""
) -> SafetyNote:
    """A new version, which everybody has to read again; the same words as before, and no ``news``, make none.

    ``news`` becomes the first paragraph.  Without any the body is kept as it is given.
    ``by`` None is the house itself (a description that is loaded).  Refused: ``safety.not_yours_to_write``.
    """
    if by is not None and not by.is_staff:
        refuse("safety.not_yours_to_write", status=403)
    locked(Processor.objects.filter(pk=processor.pk)).get()
    before = queries.current_note(processor)
    title, body, news = title.strip(), "\n".join(body.splitlines()).strip(), news.strip()
    if before is not None and not news:
        same = body in {before.body, texts.without_news(before.body)}
        if same and title == before.title:
            return before
    body = texts.with_news(body, news)
    note = SafetyNote.objects.create(
        processor=processor,
        version=before.version + 1 if before else 1,
        title=title,
        body=body,
        published_at=now,
        published_by=by,
    )
    journal.record(
        code="safety.note_published", happened_at=now, now=now, by=by, about=note, facts={"version": note.version}
    )
    return note


@act
def acknowledge(*, note: SafetyNote, member: Member, now: datetime) -> SafetyAcknowledgement:
    """The member has read this version.  Twice is once.  Refused if it is no longer the one in force."""
    current = queries.current_note(note.processor)
    if current is None or current.pk != note.pk:
        refuse("safety.newer_note", name=note.processor.name)
    read, is_new = SafetyAcknowledgement.objects.get_or_create(
        note=note, member=member, defaults={"acknowledged_at": now}
    )
    if is_new:
        journal.record(code="safety.note_read", happened_at=now, now=now, by=member, about=note)
    return read
