"""Shifts for tests, planned through the acts."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest

from studiodesk.answers import Refused
from studiodesk.journal.models import Entry, Notice
from studiodesk.stations import actions, queries
from studiodesk.stations.models import Shift
from studiodesk.timekeeping import studio_day
from tests import makers


def planned(now: datetime, *, weeks: int = 2, by: Any = None) -> list[Shift]:
    """The shifts of the house of the cast from today on: every day but Monday, 10:00 to 22:00; today's has begun."""
    staff = by or makers.member("Sef", is_staff=True)
    actions.plan_shifts(first=studio_day(now, queries.zone()), weeks=weeks, now=now, by=staff)
    return list(Shift.objects.order_by("starts"))


def refused(act: Any, **given: Any) -> str:
    """The code of the refusal; fails if the act is carried out."""
    with pytest.raises(Refused) as caught:
        act(**given)
    return caught.value.refusal.code


def told(code: str) -> list[str]:
    """Who was told with a letter of this code, by name."""
    return sorted(Notice.objects.filter(code=code).values_list("person__name", flat=True))


def entries(shift: Shift) -> list[str]:
    """What the journal has of this shift, in order."""
    return list(Entry.objects.filter(about="shift", about_id=shift.pk).order_by("pk").values_list("code", flat=True))
