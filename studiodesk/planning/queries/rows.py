"""A forecast as the row that keeps it, not yet written."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from ..models import KeptForecast
from ..rules.paths import LowUse
from .forecasting import Foretold, as_kept, too_little

#: A square of a hundred kilometres: no tank in any house takes as much, and no column holds much more.
ENDLESS_MM2 = 10**16


def low_use_row(told: Foretold, zone: ZoneInfo) -> dict[str, Any] | None:
    found: LowUse | None = too_little(told, zone)
    if found is None:
        return None
    return {
        "turnovers": str(told.tank.settings.low_use_turnovers),
        "probability": found.probability,
        "by": found.by.isoformat() if found.by else None,
    }


def row_of(told: Foretold, now: datetime, why: str, low_use: dict[str, Any] | None) -> KeptForecast:
    """A forecast as its row, not yet written."""
    tank, passage, course = told.tank, told.passage, told.course
    # What was passed already foretells nothing that could be scored.
    room = None if tank.passed else tank.rooms.get(tank.nearest)
    return KeptForecast(
        bath_id=told.of.pk,
        at=told.at,
        reckoned_at=now,
        day=course.first_day,
        why=why,
        tank_since=tank.standing.since,
        p10=passage.p10,
        p50=passage.p50,
        p90=passage.p90,
        first_limit={name: round(chance, 6) for name, chance in passage.first_limit.items()},
        nearest=tank.passed or tank.nearest,
        room_mm2=None if room is None or room.mm2 > ENDLESS_MM2 else max(0, round(room.mm2)),
        idle_mm2=0 if room is None else round(room.idle_mm2),
        age_ends_at=None if tank.passed else tank.age_ends_at,
        booked_s=round(course.booked_h * 3600),
        history_sessions=course.sessions,
        watched_days=course.watched_days,
        loose_days=course.loose_days,
        replenisher=told.replenisher_pl,
        low_use=low_use,
        widened=told.widened,
        classes=[as_kept(one) for one in told.classes],
        course=[[round(m), round(v)] for m, v in zip(course.mean, course.variance, strict=True)],
    )
