"""Reads of the journal and of who still has to be told."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime
from typing import Any

from django.db.models import Q, QuerySet

from . import rules
from .models import ChoreLease, Entry, Notice, NoticeChoice


def times_of(code: str, about: str, about_id: int, since: datetime) -> list[datetime]:
    """When this happened to that thing since ``since``, in order."""
    found = Entry.objects.filter(about=about, about_id=about_id, code=code, happened_at__gte=since)
    return list(found.order_by("happened_at").values_list("happened_at", flat=True))


def entries_about(about: str, about_id: int) -> QuerySet[Entry]:
    """What happened to one thing, the latest first."""
    return Entry.objects.filter(about=about, about_id=about_id).select_related("actor").order_by("-happened_at", "-pk")


def notices_to_send(now: datetime, stale_before: datetime) -> QuerySet[Notice]:
    """What is due to be sent: waiting, or claimed by somebody who has not come back since ``stale_before``."""
    due = Q(state=Notice.State.WAITING, due_at__lte=now) | Q(state=Notice.State.CLAIMED, claimed_at__lt=stale_before)
    return Notice.objects.filter(due).select_related("person").order_by("due_at", "pk")


def topics_not_wanted(people: Collection[int]) -> set[tuple[int, str]]:
    """(person, topic) of every letter that one of these people does not want."""
    rows = NoticeChoice.objects.filter(person_id__in=people, wanted=False)
    return set(rows.values_list("person_id", "topic"))


def wants(person: Any, topics: Collection[str]) -> dict[str, bool]:
    """Topic → whether this person gets letters of it, in the order given."""
    chosen = dict(NoticeChoice.objects.filter(person=person).values_list("topic", "wanted"))
    return {topic: chosen.get(topic, rules.comes_unasked(topic)) for topic in topics}


def who_wants(topic: str) -> set[int]:
    """The people (by id) who said that they want letters of a topic."""
    return set(NoticeChoice.objects.filter(topic=topic, wanted=True).values_list("person_id", flat=True))


def chores_done() -> dict[str, ChoreLease]:
    """When each chore of the timetable was last done, and who is at it, by its name."""
    return {row.name: row for row in ChoreLease.objects.all()}
