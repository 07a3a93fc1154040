"""What the desk says of alerts: how many, and the worst that no other line of the desk says already."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from studiodesk.chemistry import queries as chemistry
from studiodesk.chemistry.queries import AlertLine

#: The desk is read in five seconds.
WORST = 3


@dataclass(frozen=True)
class AlertsAtDesk:
    """``count``: everything open that is not put off; ``beside`` the desk's own tasks: so many, the ``worst`` three."""

    count: int
    beside: int
    worst: list[AlertLine]
    put_off: int
    checked: datetime | None

    @property
    def signature(self) -> tuple[object, ...]:
        return self.count, self.put_off, [line.signature for line in self.worst]


def alerts_at_desk(found: chemistry.Open, checked: datetime | None, now: datetime) -> AlertsAtDesk:
    """Baths to change and to replenish stand among the desk's tasks: they are counted, not said again."""
    lines = chemistry.alert_lines(found.now, now)
    others = [line for line in lines if not line.is_of_a_bath]
    return AlertsAtDesk(len(lines), len(others), others[:WORST], len(found.put_off), checked)
