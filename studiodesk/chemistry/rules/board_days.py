"""How a processor stands in its working day, as the board says it.  Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from studiodesk.timekeeping import studio_day

NOT_OPENED, OPENING, OPEN, LEFT_OPEN, CLOSED = "not opened", "opening", "open", "left open", "closed"


@dataclass(frozen=True)
class WorkingDay:
    """``state`` since ``since``; "not opened" has no moment."""

    state: str
    since: datetime | None = None

    @property
    def is_ready(self) -> bool:
        return self.state == OPEN


def working_day(
    begun: datetime | None, ready: datetime | None, closed: datetime | None, today: date, zone: ZoneInfo
) -> WorkingDay:
    """Of the latest opening of a processor (``begun`` None: there was none).

    One of an earlier day that nobody closed is left open, not open: nobody has looked at it today.
    """
    if begun is None:
        return WorkingDay(NOT_OPENED)
    of_today = studio_day(begun, zone) == today
    if closed is not None:
        return WorkingDay(CLOSED, closed) if studio_day(closed, zone) == today else WorkingDay(NOT_OPENED)
    if not of_today:
        return WorkingDay(LEFT_OPEN, begun)
    return WorkingDay(OPENING, begun) if ready is None else WorkingDay(OPEN, ready)
