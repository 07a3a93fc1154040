"""Which language somebody reads."""

from __future__ import annotations

from datetime import datetime

from studiodesk.acts import act, locked
from studiodesk.journal import actions as journal

from ..models import Member


@act
def set_language(*, person: Member, language: str, now: datetime, by: Member) -> None:
    """``language`` is one of the interface's, or empty: the browser's, and in letters the studio's."""
    row = locked(Member.objects.filter(pk=person.pk)).get()
    if row.language == language:
        return
    row.language = language
    row.save(update_fields=["language"])
    journal.record(code="people.language_set", happened_at=now, now=now, by=by, about=row, facts={"language": language})
