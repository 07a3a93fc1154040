"""What became of a bath in a stretch of time, tank by tank: for its chart and its table.  Pure.

Areas mm², amounts pL, silver µg/L; moments aware.  The sums are those of ``tank.applied``, so that the last point of a
curve is the figure that stands on the board.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from zoneinfo import ZoneInfo

from studiodesk.timekeeping import studio_day

from .events import Event, SheetsThrough, StripRead
from .settings import SettingsHistory
from .tank import Filling, TankState, applied, begun, looked_at
from .using import silver_now


@dataclass(frozen=True)
class Tank:
    """One tank in ``[filling.at, ended)`` with all of its events in time order; ``filling`` None: not known when."""

    filling: Filling | None
    ended: datetime | None
    events: Sequence[Event]


@dataclass(frozen=True)
class Sample:
    """The sums of a tank at a moment.  ``asked`` and ``given``: replenishment, by hand and by machine alike."""

    at: datetime
    area_mm2: int
    asked_pl: int
    given_pl: int
    silver_ug_per_l: float | None


@dataclass
class Day:
    """What one local day added; the silver is that of its last moment, ``read`` what strips measured."""

    day: date
    sheets: int = 0
    area_mm2: int = 0
    asked_pl: int = 0
    given_pl: int = 0
    silver_ug_per_l: float | None = None
    read_ug_per_l: list[int] = field(default_factory=list)


@dataclass(frozen=True)
class History:
    """``tanks``: the samples of each tank that stood in ``[starts, ends]``; ``days``: those on which something was."""

    starts: datetime
    ends: datetime
    tanks: Sequence[Sequence[Sample]]
    strips: Sequence[tuple[datetime, int]]
    days: Sequence[Day]

    @property
    def samples(self) -> list[Sample]:
        return [sample for tank in self.tanks for sample in tank]


def history(
    tanks: Iterable[Tank], figures: SettingsHistory, starts: datetime, ends: datetime, zone: ZoneInfo
) -> History:
    """The tanks in time order, each folded from its beginning; only what lies in ``[starts, ends]`` is kept."""
    drawn: list[list[Sample]] = []
    strips: list[tuple[datetime, int]] = []
    days: dict[date, Day] = {}
    for tank in tanks:
        samples: list[Sample] = []
        state = begun(tank.filling)
        first = tank.filling.at if tank.filling else starts
        for event in tank.events:
            if event.at > ends:
                break
            if event.at < starts:
                state = applied(state, event, figures, zone)
                continue
            if not samples:
                samples.append(_sample(state, max(first, starts), figures, zone))
            after = applied(state, event, figures, zone)
            samples.append(_sample(after, event.at, figures, zone))
            _count(days, event, state, after, figures, zone)
            if isinstance(event, StripRead) and event.silver_ug_per_l is not None:
                strips.append((event.at, event.silver_ug_per_l))
            state = after
        last = min(tank.ended or ends, ends)
        if last < starts:
            continue
        if not samples:
            samples.append(_sample(state, max(first, starts), figures, zone))
        samples.append(_sample(state, last, figures, zone))
        drawn.append(samples)
    return History(starts, ends, drawn, strips, [days[day] for day in sorted(days)])


def _sample(state: TankState, at: datetime, figures: SettingsHistory, zone: ZoneInfo) -> Sample:
    state = looked_at(state, at, figures, zone)
    settings = figures.at(at)
    asked, given = (state.due_pl, state.given_pl + state.extra_pl) if settings.replenished else (0, state.extra_pl)
    return Sample(at, state.area_mm2, asked, given, silver_now(state, settings) if settings.wears else None)


def _count(
    days: dict[date, Day], event: Event, before: TankState, after: TankState, figures: SettingsHistory, zone: ZoneInfo
) -> None:
    """Add to its day what an event changed; idle days ask on the day on which they are counted."""
    number = studio_day(event.at, zone)
    day = days.setdefault(number, Day(number))
    if isinstance(event, SheetsThrough):
        day.sheets += event.sheets
    day.area_mm2 += after.area_mm2 - before.area_mm2
    day.asked_pl += after.due_pl - before.due_pl
    day.given_pl += after.given_pl + after.extra_pl - before.given_pl - before.extra_pl
    settings = figures.at(event.at)
    if settings.wears:
        day.silver_ug_per_l = silver_now(after, settings)
    if isinstance(event, StripRead) and event.silver_ug_per_l is not None:
        day.read_ug_per_l.append(event.silver_ug_per_l)
