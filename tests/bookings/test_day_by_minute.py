"""A whole day by the timer alone: everybody is told what they must know, once, at the right time.

Here every five minutes, for time's sake; ``python -m tests.bookings.day_by_minute`` goes minute by minute.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from studiodesk.bookings.models import Booking
from tests.bookings.day_by_minute import Tale, at, run


@pytest.mark.parametrize("engine", ["sqlite"], indirect=True, scope="session")
def test_a_whole_day_by_the_timer_alone(fresh_db: Any, outbox: Any) -> None:
    tale = Tale()
    who = {person.number: name for name, person in tale.people.items()}
    told = [
        (one.at, who.get(one.number, "Kim"), one.code.removeprefix("bookings."))
        for one in run(tale, step=timedelta(minutes=5))
    ]
    expected = [
        (at(8, 30), "Adri", "booked"),
        (at(8, 30), "Bente", "booked"),
        (at(8, 30), "Cas", "booked"),
        (at(8, 30), "Dina", "booked"),
        (at(8, 30), "Finn", "booked"),
        (at(8, 30), "Adri", "reminder"),  # due at 8:00, half an hour before the first tick
        (at(9), "Cas", "reminder"),
        (at(10), "Bente", "reminder"),
        (at(13), "Dina", "reminder"),
        (at(13), "Finn", "hit"),
        (at(13, 40), "Dina", "cancelled"),
        (at(13, 40), "Els", "offered"),
        (at(14), "Finn", "reminder"),
        (at(14, 40), "Els", "offer_ran_out"),
        (at(16, 30), "Finn", "released"),
    ]
    overrun = [one for one in told if one[2] == "overrun"]
    assert [(name, code) for _moment, name, code in overrun] == [("Bente", "overrun")]
    assert at(12) <= overrun[0][0] <= at(12, 20)
    assert sorted(one for one in told if one[2] != "overrun") == sorted(expected)
    assert len(outbox) == len(told)
    assert len({message.extra_headers["Message-ID"] for message in outbox}) == len(outbox)
    finn = Booking.objects.get(member=tale.people["Finn"])
    assert finn.released_at == finn.starts + timedelta(minutes=30)
