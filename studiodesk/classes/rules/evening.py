"""The evening itself: who sits where.  Pure."""

from __future__ import annotations

from collections.abc import Sequence


def share_out(seats: Sequence[int], stations: Sequence[int]) -> dict[int, int]:
    """Seat → station, in their orders, so that no station has two more than another: 7 at 3 are 3, 2 and 2.

    Neighbours in seat order stay together: a party sits at one station or at two that follow each other.
    """
    if not stations:
        return {}
    least, over = divmod(len(seats), len(stations))
    found: dict[int, int] = {}
    at = 0
    for number, station in enumerate(stations):
        many = least + (number < over)
        found |= dict.fromkeys(seats[at : at + many], station)
        at += many
    return found
