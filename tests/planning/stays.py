"""Stays around one moment, as the forecast's rules take them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from studiodesk.planning.rules.values import Stay

ZONE = ZoneInfo("Europe/Amsterdam")
AT = datetime(2026, 6, 3, 1, tzinfo=UTC)  # a Wednesday night
DAY, HOUR = timedelta(days=1), timedelta(hours=1)


def stay(member: int, back_days: float, hours: float, area: int, process: int = 1, **more: Any) -> Stay:
    """A stay that ended so many days before ``AT`` (negative: ends so many days after)."""
    ends = AT - back_days * DAY
    usual = {"made_at": ends - 6 * DAY, "processor": 10 * process, "fed": {10 * process: area} if area else {}}
    return Stay(member=member, process=process, starts=ends - hours * HOUR, ends=ends, **usual | more)
