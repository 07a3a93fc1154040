"""What is only kept for somebody until they answer is no booking, and foretells nothing."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from studiodesk.bookings.models import Booking
from studiodesk.planning.queries.known import known
from studiodesk.stations import queries as stations
from tests import makers
from tests.bookings.acting import TOMORROW, booked


def test_an_offer_is_known_to_no_forecast_until_it_is_taken(house: Any, now: datetime) -> None:
    stands = booked(house, makers.member("Adri"), now)
    kept = booked(house, makers.member("Bente"), now, "E2")
    Booking.objects.filter(pk=kept.pk).update(offered_until=TOMORROW)
    zone = stations.zone()
    for live in (True, False):
        assert [one.member for one in known(now, live=live, zone=zone).stays] == [stands.member_id]
    Booking.objects.filter(pk=kept.pk).update(offered_until=None)
    assert len(known(now, live=True, zone=zone).stays) == 2
