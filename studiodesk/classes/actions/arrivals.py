"""What becomes of arrivals when a date moves."""

from __future__ import annotations

from collections.abc import Iterable

from studiodesk.bookings.actions.group_door import never_came

from ..models import Attendance, Meeting


def forget_arrivals(meetings: Iterable[Meeting]) -> None:
    """These dates move before they began: whoever came early is here for nothing, and the roll-call lets go of them."""
    rows = Attendance.objects.filter(meeting__in=[one.pk for one in meetings], came_at__isnull=False)
    never_came(visit for visit in rows.values_list("visit", flat=True) if visit is not None)
    rows.update(came_at=None, left_at=None, visit=None)
