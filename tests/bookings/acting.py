"""What the tests of the acts share: tomorrow in the house of the cast, one booking, one refusal that writes nothing."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from studiodesk.answers import Refused
from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, Hold, ZoneHold
from studiodesk.journal.models import Entry

#: Thursday 26 November 2026, 13:00 in Amsterdam: the day after the cast's "now".
TOMORROW = datetime(2026, 11, 26, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)


def booked(
    house: Any, who: Any, now: datetime, code: str = "E1", start: float = 0, hours: float = 2, **more: Any
) -> Booking:
    process = more.pop("process", "rc")
    return actions.book(
        member=who,
        station=house.stations[code],
        process=house.processes[process] if process else None,
        starts=TOMORROW + start * HOUR,
        ends=TOMORROW + (start + hours) * HOUR,
        now=now,
        by=more.pop("by", who),
        **more,
    )


def refused(*args: Any, **kwargs: Any) -> Any:
    before = (Booking.objects.count(), Hold.objects.count(), ZoneHold.objects.count(), Entry.objects.count())
    with pytest.raises(Refused) as caught:
        booked(*args, **kwargs)
    after = (Booking.objects.count(), Hold.objects.count(), ZoneHold.objects.count(), Entry.objects.count())
    assert after == before, "a refusal wrote something"
    return caught.value.refusal
