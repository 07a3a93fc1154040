"""What the tests of the door share: an afternoon with its people, the house's rules, what a page says."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.test import Client

from studiodesk.answers import Refused
from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, Visit
from studiodesk.journal.models import Entry

ZONE = ZoneInfo("Europe/Amsterdam")
LONG_BEFORE = datetime(2026, 1, 1, tzinfo=ZONE)


def at(hour: int, minute: int = 0, day: int = 25) -> datetime:
    """A moment of the cast's Wednesday, on the studio's clock."""
    return datetime(2026, 11, day, hour, minute, tzinfo=ZONE)


def book(house: Any, who: Any, station: str, starts: datetime, ends: datetime, process: Any = "rc", **more: Any) -> Any:
    """Booked two days before, so that every machine can be warm."""
    return actions.book(
        member=who,
        station=house.stations[station],
        process=house.processes[process] if process else None,
        starts=starts,
        ends=ends,
        now=starts - timedelta(days=2),
        by=more.pop("by", who),
        **more,
    )


def rule(code: str, value: Any) -> None:
    actions.set_house_rule(code=code, plan=None, value=value, in_force_from=date(2026, 1, 1), now=LONG_BEFORE, by=None)


def refused(code: str, act: Any, **arguments: Any) -> dict[str, Any]:
    """The act is refused with this code and writes nothing; gives the facts of the sentence."""
    before = (Entry.objects.count(), Visit.objects.count(), list(Booking.objects.values_list("arrived_at", "left_at")))
    with pytest.raises(Refused) as caught:
        act(**arguments)
    after = (Entry.objects.count(), Visit.objects.count(), list(Booking.objects.values_list("arrived_at", "left_at")))
    assert caught.value.refusal.code == code and after == before
    return dict(caught.value.refusal.facts)


def client_of(person: Any) -> Client:
    client = Client()
    client.force_login(person)
    return client


def text(answer: Any) -> str:
    found = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return re.sub(r"\s+", " ", found).replace(" ,", ",").replace(" :", ":").replace(" .", ".")
