"""What wants doing: raised once for each thing, cleared by what puts it right.  Every area raises through here.

An alert's row is never rewritten by what is logged later: who raised, took, put off and cleared it stays as it was.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction

from studiodesk.acts import act, locked
from studiodesk.journal.actions import record

from ..models import Alert, Bath, BathEntry
from ..queries import alerts as reads
from ..queries.standings import baths, standings
from ..rules import alerts as rules
from ..rules import evaporating
from ..rules.standing import Standing
from . import tanks

DUE, AT_ITS_END = Alert.Kind.REPLENISHMENT_DUE, Alert.Kind.AT_ITS_END


def key_of(kind: str, bath: Bath) -> str:
    """Of what an alert is: at most one stands open for it."""
    return rules.key_of(kind, "bath", bath.pk)


@act
def raise_alert(
    *,
    kind: str,
    key: str,
    now: datetime,
    since: datetime | None = None,
    late: bool | None = None,
    limit: str = "",
    facts: Mapping[str, Any] | None = None,
    bath: Any = None,
    processor: Any = None,
    product: Any = None,
    lot: Any = None,
    container: Any = None,
    job: Any = None,
    by: Any = None,
) -> Alert:
    """An alert of this key, the one that stands open if there is one: that stays as it is, put off or not.

    ``key`` is ``rules.alerts.key_of(kind, what, pk)``.  ``since``: from when it was so (``None``: from now).
    ``late``: what raises it was written down after the fact; left out, it is if a person (``by``) raises it more than
    five minutes after ``since``.  ``facts``: numbers, codes and ISO moments for its words (``words/alerts.py`` says
    which of each kind), no names.
    """
    if kind not in Alert.Kind.values:
        raise ValueError(f"no such kind of alert: {kind!r}")
    there = Alert.objects.filter(key=key, cleared_at=None).first()
    if there is not None:
        return there
    if late is None:
        late = rules.is_late(since, now, by_a_person=by is not None)
    try:
        with transaction.atomic():
            alert = Alert.objects.create(
                kind=kind,
                key=key,
                raised_at=now,
                since=since or now,
                late=late,
                limit=limit,
                facts=dict(facts or {}),
                bath=bath,
                processor=processor,
                product=product,
                lot=lot,
                container=container,
                job=job,
            )
    except IntegrityError:  # somebody else raised it between our look and our row
        there = Alert.objects.filter(key=key, cleared_at=None).first()
        if there is None:
            raise
        return there
    said = {"kind": kind, "late": late} | ({"bath": bath.pk} if bath is not None else {})
    record(code="chemistry.alert_raised", happened_at=since or now, now=now, by=by, about=alert, facts=said)
    return alert


@act
def clear_alert(*, key: str, now: datetime, by: Any = None, entry: BathEntry | None = None) -> Alert | None:
    """The alert of this key is over, if one stands open; ``entry`` is what put it right.  Gives the alert or None."""
    alert: Alert | None = locked(Alert.objects.filter(key=key, cleared_at=None)).first()
    if alert is None:
        return None
    alert.cleared_at, alert.cleared_by = now, entry
    if entry is None:
        alert.cleared_person = by
    alert.save(update_fields=["cleared_at", "cleared_by", "cleared_person"])
    facts = {"kind": alert.kind} | ({"bath": alert.bath_id} if alert.bath_id else {})
    record(code="chemistry.alert_cleared", happened_at=now, now=now, by=by, about=alert, facts=facts)
    return alert


def set_alerts(
    *, bath: Bath, stands: Standing, now: datetime, may_end: bool, entry: BathEntry | None = None, by: Any = None
) -> None:
    """Raise what is true and has no alert; clear replenishment that is no longer due.

    ``may_end``: what was done may also clear "at its end" (a refill, a partial dump, a measured strip, or sheets that
    were taken back).  The bath's row is locked by whoever calls, so that no two ask at once.
    """
    open_now = set(
        Alert.objects.filter(bath=bath, kind__in=(DUE, AT_ITS_END), cleared_at=None).values_list("kind", flat=True)
    )
    # What was poured away asks for nothing and is not changed any more: it is filled.
    truth = {kind: reads.is_so(kind, stands) for kind in (DUE, AT_ITS_END)}
    may_end = may_end or stands.is_empty
    for kind, so in truth.items():
        if so and kind not in open_now:
            held = tanks.lock([bath.processor], only=bath)
            since, late = reads.true_since(bath, kind, held.history(bath), now, held.zone)
            limit = (stands.limit or "") if kind == AT_ITS_END else ""
            raise_alert(
                kind=kind, key=key_of(kind, bath), now=now, since=since, late=late, limit=limit, bath=bath, by=by
            )
        elif kind in open_now and not so and (kind == DUE or may_end):
            clear_alert(key=key_of(kind, bath), now=now, by=by, entry=entry)


def look_at_water(*, bath: Bath, entry: BathEntry, pl_per_day: int | None, days: int, now: datetime, by: Any) -> None:
    """Water was topped up: three times as much as usual is worth a look at lids, heater and air."""
    times = evaporating.times_usual(entry.amount_pl or 0, days, pl_per_day)
    key = key_of(rules.EVAPORATION, bath)
    if evaporating.is_alarm(times):
        facts = {"times": round(float(times or 0), 1)}
        raise_alert(kind=rules.EVAPORATION, key=key, bath=bath, since=entry.at, facts=facts, now=now, by=by)
    elif times is not None:
        clear_alert(key=key, now=now, by=by, entry=entry)


def _review(now: datetime, *, may_end: bool) -> int:
    listed = list(baths())
    tanks.lock({bath.processor for bath in listed})
    lines = standings(now, of=listed)
    by_pk = {bath.pk: bath for bath in listed}
    before = Alert.objects.filter(cleared_at=None).count()
    for line in lines:
        set_alerts(bath=by_pk[line.of.pk or 0], stands=line, now=now, may_end=may_end)
    return Alert.objects.filter(cleared_at=None).count() - before


@act
def review_baths(*, now: datetime) -> int:
    """For the timer: ages and idle days pass without sheets.  Answers how many more alerts stand open."""
    return _review(now, may_end=False)


@act
def settle_alerts(*, now: datetime) -> int:
    """After an import: every alert as it is true now, raised and cleared.  Answers how many more stand open."""
    return _review(now, may_end=True)
