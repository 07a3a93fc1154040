"""What the tests of the desk share: the times of one evening, who asks, and what a page says."""

import re
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.test import Client

from studiodesk.bookings import actions as bookings

ZONE = ZoneInfo("Europe/Amsterdam")


def at(hour, minute=0, day=25):
    return datetime(2026, 11, day, hour, minute, tzinfo=ZONE)


def book(house, who, station, process, starts, ends):
    """Booked two days before, so that every machine can be warm."""
    return bookings.book(
        member=who,
        station=house.stations[station],
        process=house.processes[process] if process else None,
        starts=starts,
        ends=ends,
        now=starts - timedelta(days=2),
        by=who,
    )


def client_of(person):
    client = Client()
    client.force_login(person)
    return client


def text(answer):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode())).replace(" ,", ",").replace(" :", ":")
