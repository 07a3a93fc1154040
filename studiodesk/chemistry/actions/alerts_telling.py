"""Letters about alerts, to those who chose them."""

from __future__ import annotations

from datetime import datetime, timedelta

from studiodesk.acts import act, locked
from studiodesk.journal.actions import Telling, record, tell_many
from studiodesk.journal.models import Entry

from ..models import Alert
from ..queries.alerts import who_wants_alerts
from ..rules.alerts import GRACE

TOLD = "chemistry.alert_told"
LETTER = "chemistry.alert"


@act
def tell_of_alerts(*, now: datetime) -> int:
    """Every alert that stands open is told once, to whoever wants such letters when this first sees it.

    Gives how many letters were written.  Whoever chooses them later hears of what comes then, not of what stood
    already.  What is mostly done within minutes waits a little: the letter is not sent if it is cleared by then.
    """
    told = Entry.objects.filter(code=TOLD, about="alert").values("about_id")
    new = list(locked(Alert.objects.filter(cleared_at=None).exclude(pk__in=told).order_by("pk")))
    # Whoever waited for the rows asks again: another sweep may have told of them meanwhile.
    done = set(
        Entry.objects.filter(code=TOLD, about="alert", about_id__in=[one.pk for one in new]).values_list(
            "about_id", flat=True
        )
    )
    new = [one for one in new if one.pk not in done]
    people = who_wants_alerts() if new else []
    for alert in new:
        entry = record(
            code=TOLD, happened_at=now, now=now, about=alert, facts={"kind": alert.kind, "people": len(people)}
        )
        due = now + GRACE.get(alert.kind, timedelta())
        tell_many(
            entry=entry,
            rows=[Telling(person, LETTER, f"{LETTER}:{alert.pk}:{person.pk}", due) for person in people],
        )
    return len(new) * len(people)
