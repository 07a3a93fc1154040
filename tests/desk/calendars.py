"""What the tests of calendars share: a booking, a link, and what a calendar reads there."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from bs4 import BeautifulSoup
from django.test import Client
from icalendar import Calendar

from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, CalendarLink

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)


def client_of(person: Any) -> Client:
    client = Client()
    client.force_login(person)
    return client


def booked(
    house: Any, who: Any, now: datetime, code: str = "E1", days: float = 1.0, process: str | None = "rc"
) -> Booking:
    starts = now + days * DAY
    return actions.book(
        member=who,
        station=house.stations[code],
        process=house.processes[process] if process else None,
        starts=starts,
        ends=starts + 2 * HOUR,
        now=min(now, starts) - HOUR,
        by=who,
    )


def linked(who: Any, now: datetime, **more: Any) -> tuple[CalendarLink, str]:
    return actions.make_calendar_link(member=who, now=now, by=who, **more)


def read(address: str, **headers: str) -> Any:
    return Client().get(f"/calendar/{address}.ics", headers=headers)


def events(answer: Any) -> list[Any]:
    assert answer.status_code == 200
    return Calendar.from_ical(answer.content).walk("VEVENT")


def text(answer: Any) -> str:
    return " ".join(BeautifulSoup(answer.content, "html.parser").get_text(" ").split())
