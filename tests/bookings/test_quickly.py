"""What is done the quick way comes to the same as the plain way: moments read as text, others counted by their ends."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from typing import Any

from django.db import connection

from studiodesk.bookings.models import Booking
from studiodesk.bookings.queries.touching import as_text, moment_of, span_of
from studiodesk.bookings.rules.ranking import Around
from studiodesk.timekeeping import Span
from tests import makers
from tests.bookings.acting import TOMORROW, booked


def test_moments_as_text_are_the_moments(house: Any, now: datetime) -> None:
    """With parts of a second and without; on PostgreSQL also where the session speaks another zone's time."""
    first = booked(house, makers.member("Adri"), now)
    second = booked(house, makers.member("Bente"), now, "E2")
    odd = TOMORROW.replace(microsecond=120)
    Booking.objects.filter(pk=second.pk).update(arrived_at=odd, released_at=odd + timedelta(seconds=1))
    columns = ("pk", "starts", "ends", "arrived_at", "released_at")
    plain = {key: rest for key, *rest in Booking.objects.order_by().values_list(*columns)}
    assert plain[first.pk][2:] == [None, None] and plain[second.pk][2] == odd
    for zone in ["UTC", "America/St_Johns"] if connection.vendor == "postgresql" else [""]:
        if zone:
            with connection.cursor() as cursor:
                cursor.execute("SELECT set_config('TimeZone', %s, true)", [zone])
        for key, *read in Booking.objects.order_by().values_list(*as_text(*columns)):
            assert [text and moment_of(text) for text in read] == plain[key]
            assert span_of(*read[:2]) == Span(*plain[key][:2])
            assert moment_of(read[0]).tzinfo is UTC


def test_others_are_counted_as_if_each_were_looked_at() -> None:
    dice, begin = random.Random(4), datetime(2026, 11, 26, tzinfo=UTC)

    def span() -> Span:
        starts = begin + timedelta(minutes=15 * dice.randrange(60))
        return Span(starts, starts + timedelta(minutes=15 * dice.randrange(1, 20)))

    counts = set()
    for _ in range(400):
        inside = [span() for _ in range(dice.randrange(12))]
        around = Around(zone=None, inside=inside)  # type: ignore[arg-type]
        stay = span()
        assert around.others_in(stay) == sum(one.overlaps(stay) for one in inside)
        counts.add(around.others_in(stay))
    assert len(counts) > 6
