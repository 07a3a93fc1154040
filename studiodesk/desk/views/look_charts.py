"""The charts of the page of the look: a fan, what became of a bath, control strips.  Pure: no store, no clock."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from types import SimpleNamespace
from typing import Any
from zoneinfo import ZoneInfo

from studiodesk.chemistry.queries import BathHistory
from studiodesk.chemistry.rules import strip_chart
from studiodesk.chemistry.rules.board_history import History, Sample
from studiodesk.chemistry.rules.settings import MACHINE, BathSettings
from studiodesk.chemistry.rules.strips import Aim
from studiodesk.chemistry.views.strips import drawn_chart
from studiodesk.planning.rules import fan
from studiodesk.planning.rules.fan_facts import FanFacts
from studiodesk.units import MM2_PER_M2, PL_PER_ML

#: How far from the middle each share of the bands lies, in steps of the spread.
SHARES = {0.025: -1.96, 0.1: -1.28, 0.25: -0.67, 0.5: 0.0, 0.75: 0.67, 0.9: 1.28, 0.975: 1.96}
A_DAY = timedelta(days=1)


def fan_facts(now: datetime) -> FanFacts:
    """A tank two thirds through its limit, closed on Mondays, too old after three weeks."""
    days = [now.date() + n * A_DAY for n in range(1, 43)]
    middle = [0.64 + 0.018 * n for n in range(1, 43)]
    bands = {
        share: [max(0.64, value + steps * 0.02 * math.sqrt(n)) for n, value in enumerate(middle, 1)]
        for share, steps in SHARES.items()
    }
    return FanFacts(
        days=days,
        bands=bands,
        chance=[min(1.0, max(0.0, (value - 0.8) * 2.5)) for value in middle],
        recorded=[(now - n * A_DAY, 0.64 - 0.03 * n) for n in range(20, -1, -2)],
        closed={day for day in days if day.weekday() == 0},
        age_day=days[21],
        limit="capacity",
        row=SimpleNamespace(p90=None, age_ends_at=now + 22 * A_DAY),
    )


def fan_drawing(facts: FanFacts, now: datetime, zone: ZoneInfo) -> fan.Fan:
    return fan.drawn(facts, now, zone, [now + 12 * A_DAY])


@dataclass(frozen=True)
class _Job:
    """What is read at every opening, as the chart reads it."""

    name: str = "Developer"
    unit: str = "°C"
    at_least: Decimal = Decimal("34.7")
    at_most: Decimal = Decimal("35.3")


def history(now: datetime) -> BathHistory:
    """Four weeks: two tanks, every sign under the chart, silver reckoned and measured, temperatures."""
    starts = now - 28 * A_DAY
    settings = BathSettings(
        volume_pl=6000 * PL_PER_ML, dosing=MACHINE, rate_ul_per_m2=160_000, unit_pl=10 * PL_PER_ML,
        silver_ug_per_m2=900_000, silver_limit_ug_per_l=6_000_000,
    )  # fmt: skip
    tanks = [_tank(starts, 17), _tank(starts + 18 * A_DAY, 10)]
    days: list[Any] = [SimpleNamespace(area_mm2=one[-1].area_mm2, given_pl=one[-1].given_pl) for one in tanks]
    events = {3: "given", 6: "water", 10: "partial dump", 17: "condemned", 18: "refill", 23: "into the bottle"}
    marks: list[Any] = [SimpleNamespace(at=starts + n * A_DAY, event=event) for n, event in events.items()]
    read: list[Any] = [
        SimpleNamespace(at=starts + n * A_DAY, value=Decimal("35") + Decimal(n % 5 - 2) / 10, job=_Job())
        for n in range(1, 28, 3)
    ]
    strips = [(starts + n * A_DAY, 320_000 * n) for n in (4, 9, 14)]
    return BathHistory(of=History(starts, now, tanks, strips, days), settings=settings, marks=marks, read=read)


def _tank(starts: datetime, days: int) -> list[Sample]:
    return [
        Sample(starts + n * A_DAY, n * MM2_PER_M2 // 2, n * 80 * PL_PER_ML, n * 76 * PL_PER_ML, 330_000.0 * n)
        for n in range(days)
    ]


def control_strips(now: datetime) -> dict[str, Any]:
    """Two patches of three channels over ten strips: inside, past action, past control, drifting."""
    limits = (Decimal("-0.05"), Decimal("0.05"), Decimal("-0.08"), Decimal("0.08"))
    patches = {"LD": (1, -2, 0), "HD-LD": (3, 5, 9)}
    channels = ("red", "green", "blue")
    aims = {(patch, channel): Aim(Decimal("0.80"), *limits) for patch in patches for channel in channels}
    strips = [
        {
            (patch, channel): Decimal(rise * number // 9 + (number * 3 + place) % 3 - 1) / 100
            for patch, rises in patches.items()
            for place, (channel, rise) in enumerate(zip(channels, rises, strict=True))
        }
        for number in range(10)
    ]
    read = [SimpleNamespace(at=now - (10 - n) * A_DAY) for n in range(10)]
    return drawn_chart(strip_chart.chart(strips, aims), read)
