"""What the fan of one bath is drawn from: what was recorded in this tank, and what is foretold, reckoned now."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from studiodesk.chemistry import queries as chemistry
from studiodesk.chemistry.models import Bath
from studiodesk.chemistry.queries import reckoning
from studiodesk.chemistry.rules.standing import standing
from studiodesk.chemistry.rules.tank import applied, begun
from studiodesk.stations import queries as stations
from studiodesk.stations.rules import open_spans
from studiodesk.units import MM2_PER_M2

from ..rules.fan import FanFacts
from ..rules.passage import bands
from .forecasting import Foretold, foretell
from .rows import row_of

SHARES = (0.025, 0.1, 0.25, 0.5, 0.75, 0.9, 0.975)


def fan_of(bath: Bath, now: datetime) -> FanFacts | None:
    """Everything for the fan of ``bath``; None for a bath of which no figure was ever entered."""
    zone = stations.zone()
    found = foretell(now, live=True, of=[bath], zone=zone)
    if not found:
        return None
    told = found[0]
    limit = told.tank.passed if told.tank.passed in told.tank.rooms else told.tank.nearest
    areas = bands(told.course, SHARES, told.tank.rooms.get(limit or ""))
    before = told.tank.standing.area_mm2
    days = [told.course.day(n) for n in range(len(told.course.mean))]
    hours = stations.hours()
    return FanFacts(
        days=days,
        bands=_in_order(
            {
                share: [told.tank.used_after(limit, area) if limit else (before + area) / MM2_PER_M2 for area in one]
                for share, one in areas.items()
            }
        ),
        chance=told.passage.reached,
        recorded=_recorded(bath, told, limit or "", zone),
        closed={day for day in days if hours.week and not open_spans(day, hours, zone)},
        age_day=told.passage.age_day,
        limit=limit or "",
        row=row_of(told, now, "asked", None),
        in_m2=not limit,
    )


def _in_order(found: dict[float, list[float]]) -> dict[float, list[float]]:
    """The lower share the lower, also where more area means less: silver over its limit that settles below."""
    days = [sorted(day) for day in zip(*found.values(), strict=True)]
    return {share: [day[n] for day in days] for n, share in enumerate(sorted(found))}


def _recorded(bath: Bath, told: Foretold, limit: str, zone: ZoneInfo) -> list[tuple[datetime, float]]:
    """(moment, used share or m²) after the last event of each local day of this tank, of today after each event."""
    since = told.tank.standing.since
    history = reckoning.histories([bath.pk])[bath.pk]
    name = chemistry.name_of(bath)
    points: list[tuple[datetime, float]] = []
    state = begun(since)

    def point(at: datetime) -> tuple[datetime, float]:
        line = standing(name, state, history, at, zone)
        return at, line.parts.get(limit, 0.0) if limit else line.area_mm2 / MM2_PER_M2

    if since is not None:
        points.append(point(since))
    last: datetime | None = None
    for event in reckoning.events_between(bath, since, None):
        if event.at > told.at:
            break
        day = event.at.astimezone(zone).date()
        if last is not None and (day == told.course.first_day or last.astimezone(zone).date() != day):
            points.append(point(last))
        state, last = applied(state, event, history, zone), event.at
    if last is not None:
        points.append(point(last))
    points.append(point(told.at))
    return points
