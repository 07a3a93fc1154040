"""What the desk is told about the baths: raised at once, cleared by what puts it right."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from studiodesk.acts import act
from studiodesk.journal.actions import record

from ..models import Bath, BathAlert, BathEntry
from ..queries.standings import baths, standings
from ..rules.standing import Standing
from . import tanks

DUE, AT_ITS_END = BathAlert.Kind.REPLENISHMENT_DUE, BathAlert.Kind.AT_ITS_END


def set_alerts(
    *, bath: Bath, stands: Standing, now: datetime, may_end: bool, entry: BathEntry | None = None, by: Any = None
) -> None:
    """Raise what is true and has no alert; clear replenishment that is no longer due.

    ``may_end``: what was done may also clear "at its end" (a refill, a partial dump, a measured strip, or sheets that
    were taken back).
    """
    open_now = {alert.kind: alert for alert in BathAlert.objects.filter(bath=bath, cleared_at=None)}
    truth = {DUE: stands.replenishment_due, AT_ITS_END: stands.used >= 1}
    for kind, so in truth.items():
        alert = open_now.get(kind)
        if so and alert is None:
            limit = (stands.limit or "") if kind == AT_ITS_END else ""
            alert = BathAlert.objects.create(bath=bath, kind=kind, raised_at=now, limit=limit)
            record(code="chemistry.alert_raised", happened_at=now, now=now, about=alert, facts={"bath": bath.pk})
        elif alert is not None and not so and (kind == DUE or may_end):
            alert.cleared_at, alert.cleared_by = now, entry
            alert.save(update_fields=["cleared_at", "cleared_by"])
            record(
                code="chemistry.alert_cleared", happened_at=now, now=now, by=by, about=alert, facts={"bath": bath.pk}
            )


def _review(now: datetime, *, may_end: bool) -> int:
    listed = list(baths())
    tanks.lock({bath.processor for bath in listed})
    lines = standings(now, of=listed)
    by_pk = {bath.pk: bath for bath in listed}
    before = BathAlert.objects.filter(cleared_at=None).count()
    for line in lines:
        set_alerts(bath=by_pk[line.of.pk or 0], stands=line, now=now, may_end=may_end)
    return BathAlert.objects.filter(cleared_at=None).count() - before


@act
def review_baths(*, now: datetime) -> int:
    """For the timer: ages and idle days pass without sheets.  Answers how many more alerts stand open."""
    return _review(now, may_end=False)


@act
def settle_alerts(*, now: datetime) -> int:
    """After an import: every alert as it is true now, raised and cleared.  Answers how many more stand open."""
    return _review(now, may_end=True)
