"""Taking a place away from a processor while somebody books it, on PostgreSQL: one connection waits for the other."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.db import connections, transaction

from studiodesk.answers import Refused
from studiodesk.bookings import actions as bookings
from studiodesk.bookings.models import Booking
from studiodesk.stations import actions as stations
from studiodesk.stations.models import Processor
from tests import makers

NOW = datetime(2026, 11, 25, 14, tzinfo=UTC)
STARTS = datetime(2026, 11, 26, 12, tzinfo=UTC)

pytestmark = pytest.mark.parametrize("engine", ["postgres"], indirect=True)


@pytest.fixture
def house(fresh_db: str, engine: Any) -> Any:
    """The colour processor serves two at once, and one place of it is taken."""
    made = makers.house()
    book(made, makers.member("Adri"), "E1")
    return made


def book(house: Any, who: Any, code: str) -> Booking:
    return bookings.book(
        member=who,
        station=house.stations[code],
        process=house.processes["ra4"],
        starts=STARTS,
        ends=STARTS + timedelta(hours=2),
        now=NOW,
        by=who,
    )


def one_place(house: Any) -> None:
    stations.describe_processor(
        code="P-CO",
        name="Colour processor",
        process=house.processes["ra4"],
        feed_width_mm=406,
        shortest_feed_mm=100,
        warm_up_minutes=45,
        dry_to_dry_minutes=6,
        booths_at_once=1,
        now=NOW,
    )


class Other(threading.Thread):
    """Does ``work`` on a connection of its own and keeps what it was told."""

    def __init__(self, work: Any) -> None:
        super().__init__(daemon=True)
        self.work, self.said = work, "nothing"

    def run(self) -> None:
        try:
            self.work()
            self.said = "done"
        except Refused as refused:
            self.said = refused.refusal.code
        except Exception as error:
            self.said = repr(error)
        finally:
            connections["default"].close()


def told_after(first: Any, second: Any) -> str:
    """``first`` is done and not yet committed when ``second`` begins; what ``second`` is told in the end."""
    with transaction.atomic():
        first()
        other = Other(second)
        other.start()
        other.join(0.6)
        assert other.is_alive(), f"the other did not wait: {other.said}"
    other.join(10)
    return other.said


def test_a_place_that_is_just_being_booked_is_not_taken_away(house: Any) -> None:
    bente = makers.member("Bente")
    assert told_after(lambda: book(house, bente, "E3"), lambda: one_place(house)) == "stations.place_is_held"
    assert Processor.objects.get(code="P-CO").booths_at_once == 2
    assert Booking.objects.count() == 2


def test_a_place_that_is_just_being_taken_away_is_not_booked(house: Any) -> None:
    bente = makers.member("Bente")
    assert told_after(lambda: one_place(house), lambda: book(house, bente, "E3")) == "bookings.no_place"
    assert Processor.objects.get(code="P-CO").booths_at_once == 1
    assert Booking.objects.count() == 1
