"""Reads of the alerts: what wants doing, since when, what is known of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q, QuerySet

from studiodesk.journal import queries as journal
from studiodesk.journal.models import ChoreLease
from studiodesk.people.models import Member

from ..models import Alert, Bath
from ..rules import alerts as rules
from ..rules.alerts_since import so_since
from ..rules.settings import SettingsHistory
from ..rules.standing import Standing, standing
from ..rules.tank import TankState
from . import reckoning
from .standings import name_of

#: The chore of the timetable that looks at every bath; its last time is what "checked" means.
REVIEW = "baths"
CLEARED_SHOWN = timedelta(days=7)
WITH = (
    "bath__processor__process",
    "processor",
    "product",
    "lot__product",
    "container",
    "job__processor",
    "taken_by",
    "snoozed_by",
    "cleared_person",
    "cleared_by__recorded_by",
)


def all_alerts() -> QuerySet[Alert]:
    """With all that a line about one says."""
    return Alert.objects.select_related(*WITH)


def access_alert(pk: int) -> Alert:
    """One alert; ``Alert.DoesNotExist`` otherwise.  Whoever runs the house may look at every one."""
    return all_alerts().get(pk=pk)


def worst_first(alerts: Iterable[Alert]) -> list[Alert]:
    """What stops work first, of one kind the oldest."""
    return sorted(alerts, key=lambda one: (rules.urgency(one.kind), one.since or one.raised_at, one.pk))


@dataclass(frozen=True)
class Open:
    """What stands open at a moment: to be done now, and put off until later; both the worst first."""

    now: list[Alert]
    put_off: list[Alert]

    @property
    def kinds(self) -> dict[int, list[str]]:
        """Bath id → the kinds that stand open, put off or not, as ``standings`` has them."""
        found: dict[int, list[str]] = {}
        for one in sorted([*self.now, *self.put_off], key=lambda row: (row.raised_at, row.pk)):
            if one.bath_id is not None:
                found.setdefault(one.bath_id, []).append(one.kind)
        return found


def open_alerts(now: datetime, *, bath: Bath | None = None) -> Open:
    """Everything that is not cleared; of one bath if ``bath`` is given (its processor's too).  One query."""
    rows = all_alerts().filter(cleared_at=None)
    if bath is not None:
        rows = rows.filter(Q(bath=bath) | Q(processor=bath.processor_id) | Q(job__processor=bath.processor_id))
    listed = worst_first(rows)
    later = [one for one in listed if rules.is_put_off(one.snoozed_until, now)]
    return Open([one for one in listed if one not in later], later)


def cleared_lately(now: datetime) -> list[Alert]:
    """What was cleared in the last seven days, the latest first."""
    return list(all_alerts().filter(cleared_at__gt=now - CLEARED_SHOWN).order_by("-cleared_at", "-pk"))


def checked_at() -> datetime | None:
    """When the timer last looked at every bath; ``None`` if it never did."""
    found = ChoreLease.objects.filter(name=REVIEW).values_list("last_done_at", flat=True)
    return next(iter(found), None)


def history_of(alert: Alert) -> list[Any]:
    """What was done with one alert, as the journal has it, the oldest first."""
    return list(reversed(journal.entries_about("alert", alert.pk)))


def who_wants_alerts() -> list[Member]:
    """Keyholders and staff who chose to be told by letter."""
    runs = Member.objects.filter(Q(is_keyholder=True) | Q(is_staff=True), is_active=True).order_by("pk")
    wanting = journal.who_wants("alerts")
    return [one for one in runs if one.pk in wanting]


# --- since when -----------------------------------------------------------------------------------------------------


def is_so(kind: str, stands: Standing) -> bool:
    """Whether a bath asks for replenishment, or is at its end; one that is poured away is neither."""
    if stands.is_empty:
        return False
    return stands.replenishment_due if kind == rules.REPLENISHMENT_DUE else stands.used >= 1


def true_since(
    bath: Bath, kind: str, history: SettingsHistory, now: datetime, zone: ZoneInfo
) -> tuple[datetime | None, bool]:
    """(since when it has been so of the tank that stands there, whether that was written down after the fact).

    Late is what could not be known at its true moment: a row of this tank up to then that was written down more than
    five minutes after it.  What a file of the past tells counts as known when it happened.
    """
    began = max((at for at in reckoning.refills(bath) if at <= now), default=None)
    events = [one for one in reckoning.events_between(bath, began, None) if one.at <= now]
    name = name_of(bath)

    def so(state: TankState, at: datetime) -> bool:
        return is_so(kind, standing(name, state, history, at, zone))

    since = so_since(so, reckoning.filling_at(bath, began), events, history, now, zone)
    return since, since is not None and _written_late(bath, began, since)


def _written_late(bath: Bath, began: datetime | None, since: datetime) -> bool:
    after = since + rules.LATE_FROM
    feeds = reckoning.feeds_known().filter(processor_id=bath.processor_id, fed_at__lte=since)
    entries = reckoning.entries_known().filter(bath=bath, at__lte=since)
    if began is not None:
        feeds, entries = feeds.filter(fed_at__gte=began), entries.filter(at__gte=began)
    late = {"recorded_at__gt": after, "file_key": None}
    return feeds.filter(**late).exists() or entries.filter(**late).exists()
