"""The letters of the demo: what somebody would have had long ago is not sent now."""

from __future__ import annotations

from datetime import datetime, timedelta

from studiodesk.journal import actions as journal
from studiodesk.journal.models import Notice

#: What happened within this time is still news.
NEWS = timedelta(minutes=20)


def forget_old_ones(now: datetime) -> int:
    """How many letters of the days before are called off; those of the last minutes and of days ahead wait."""
    due = Notice.objects.filter(state=Notice.State.WAITING, due_at__lt=now - NEWS)
    return journal.call_off(now=now, keys=list(due.values_list("unique_key", flat=True)))
