"""What the page tests share: a frozen afternoon, a client, one booking."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

from bs4 import BeautifulSoup
from django.test import Client

from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking

NOW = datetime(2026, 11, 25, 14, 0, tzinfo=UTC)  # Wednesday, 15:00 in the studio
TOMORROW = datetime(2026, 11, 26, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)
WISH = {"station": "E1", "process": "rc", "day": "2026-11-26", "begins": "13:00", "until": "15:00"}


def client_of(member: Any) -> Client:
    client = Client()
    client.force_login(member)
    return client


def page(response: Any) -> BeautifulSoup:
    soup = BeautifulSoup(response.content, "html.parser")
    assert len(soup.find_all("h1")) == 1
    return soup


def book(
    house: Any, who: Any, code: str = "E1", start: float = 0, hours: float = 2, process: str | None = "rc"
) -> Booking:
    return actions.book(
        member=who,
        station=house.stations[code],
        process=house.processes[process] if process else None,
        starts=TOMORROW + start * HOUR,
        ends=TOMORROW + (start + hours) * HOUR,
        now=NOW,
        by=who,
    )


def key() -> dict[str, str]:
    return {"key": str(uuid.uuid4())}
