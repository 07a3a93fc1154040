"""What the tests of the waiting list share: the scanner of tomorrow afternoon, and whoever waits for it."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking, Offer, WaitingWish
from studiodesk.bookings.rules.needs import Need
from tests.bookings.acting import HOUR, TOMORROW

THURSDAY = date(2026, 11, 26)
#: There is one scanning station in the house of the cast.
SCANNER = Need(kind="scanning station", length=120)
BOOTH = Need(kind="enlarger booth", process="rc", length=120)
#: 13:00 to 15:00 in Amsterdam, which is where the usual booking of tomorrow lies.
FROM, UNTIL = 13 * 60, 15 * 60


def wait(who: Any, now: datetime, need: Need = SCANNER, **more: Any) -> WaitingWish:
    """Wait for tomorrow from 13:00 to 15:00, unless something else is said."""
    given = {"first_day": THURSDAY, "last_day": THURSDAY, "not_before": FROM, "not_after": UNTIL, "by": who}
    return actions.wait(member=who, need=need, now=now, **{**given, **more})


def full(house: Any, who: Any, now: datetime, start: float = 0, hours: float = 2) -> Booking:
    """The scanner is taken then."""
    return actions.book(
        member=who,
        station=house.stations["S1"],
        process=None,
        starts=TOMORROW + start * HOUR,
        ends=TOMORROW + (start + hours) * HOUR,
        now=now,
        by=who,
    )


def offer_of(wish: WaitingWish) -> Offer | None:
    """The open offer of a wish."""
    return Offer.objects.filter(wish=wish, answer="").select_related("booking").first()


def state(wish: WaitingWish) -> str:
    return WaitingWish.objects.get(pk=wish.pk).state


def later(now: datetime, minutes: float) -> datetime:
    return now + timedelta(minutes=minutes)


__all__ = ["BOOTH", "FROM", "HOUR", "SCANNER", "THURSDAY", "TOMORROW", "UNTIL", "UTC", "full", "later", "offer_of",
           "state", "wait"]  # fmt: skip
