"""What the tests of the pages that change a booking share."""

from __future__ import annotations

from typing import Any

from studiodesk.bookings import actions
from studiodesk.bookings.models import Booking
from tests.bookings.paging import HOUR, NOW, TOMORROW


def at(booking: Booking) -> str:
    return f"/bookings/{booking.pk}/change/"


def times(booking: Booking) -> tuple[str, float, float]:
    booking.refresh_from_db()
    return booking.station.code, (booking.starts - TOMORROW) / HOUR, (booking.ends - TOMORROW) / HOUR


def button(form: Any) -> dict[str, str]:
    return {one["name"]: one.get("value", "") for one in form.select("input") if one["name"] != "csrfmiddlewaretoken"}


def tap(soup: Any, words: str) -> dict[str, str]:
    """What the button with these words sends."""
    found = next(one for one in soup.select("form button") if words in one.text)
    return button(found.find_parent("form"))


def rule(code: str, value: int) -> None:
    actions.set_house_rule(code=code, plan=None, value=value, in_force_from=NOW.date(), now=NOW, by=None)
