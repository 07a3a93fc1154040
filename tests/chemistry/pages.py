"""What the tests of pages share: clients, a booked tablet, and reading a page as a person would."""

import re
import uuid
from datetime import timedelta

from bs4 import BeautifulSoup
from django.test import Client

from studiodesk.bookings.models import Booking
from studiodesk.people.models import Tablet
from studiodesk.people.queries import TABLET_COOKIE, secret_hash

#: Words of the code that never reach a page.
INTERNAL = re.compile(r"\b(hold|lane|feeds?|fills?)\b", re.IGNORECASE)


def client_of(person=None):
    client = Client()
    if person is not None:
        client.force_login(person)
    return client


def tablet_client(now, staff, secret="sesame"):
    tablet = Tablet.objects.create(
        name="Dry end", made_at=now, made_by=staff, enrolled_at=now, secret_hash=secret_hash(secret)
    )
    client = Client()
    client.cookies[TABLET_COOKIE] = secret
    return client, tablet


def booked(house, who, now, processor="P-RC", hours=2):
    return Booking.objects.create(
        reference=uuid.uuid4().hex, member=who, station=house.stations["E1"], process=house.processes["rc"],
        processor=house.processors[processor], starts=now - timedelta(hours=1), ends=now + timedelta(hours=hours),
        made_at=now - timedelta(days=1), recorded_at=now,
    )  # fmt: skip


def soup_of(response):
    soup = BeautifulSoup(response.content, "html5lib")
    assert len(soup.find_all("h1")) == 1
    assert not INTERNAL.search(soup.get_text(" ")), INTERNAL.search(soup.get_text(" "))
    return soup


def tapped(**changed):
    return {"sheet": "203x254", "sheets": "5", "kind": "print", "who": "walk-in", "key": uuid.uuid4().hex} | changed
