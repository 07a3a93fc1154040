"""What the forecast is reckoned from and what it answers, as frozen values.  Areas mm², times aware.  Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

HORIZON_DAYS = 120


@dataclass(frozen=True)
class Stay:
    """A booking that takes a place at a processor, as it was known at the moment of the forecast.

    ``fed``: processor → area that went through it for this stay until then.
    """

    member: int
    process: int
    processor: int | None
    starts: datetime
    ends: datetime
    made_at: datetime
    cancelled_at: datetime | None = None
    fed: Mapping[int, int] = field(default_factory=dict)

    @property
    def hours(self) -> float:
        return (self.ends - self.starts).total_seconds() / 3600

    def hours_after(self, at: datetime) -> float:
        """What is still to come of it at a moment before its end."""
        return (self.ends - max(self.starts, at)).total_seconds() / 3600

    @property
    def area_mm2(self) -> int:
        return sum(self.fed.values())


@dataclass(frozen=True)
class Loose:
    """Sheets that belong to no stay of the processor's process: walk-ins, the house's own, control strips."""

    processor: int
    at: datetime
    area_mm2: int


@dataclass(frozen=True)
class Planned:
    """What is known to come besides the bookings, a class say: its area as mean (mm²) and variance (mm⁴).

    ``stay``: the group's stay that it is for, None for what is no group's.
    """

    processor: int
    at: datetime
    mean_mm2: float
    variance_mm4: float
    stay: int | None = None


@dataclass(frozen=True)
class Machine:
    """A processor.  ``since``: when it first showed a sign of life (or, late added, was described).

    ``shut``: local day → hours of it, opening hours all, in which the processor is out of service; ``shut_before``
    likewise for what is past.
    """

    pk: int
    process: int
    places: int
    since: datetime | None = None
    shut: Mapping[date, float] = field(default_factory=dict)
    shut_before: Mapping[date, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Known:
    """All that a forecast made at ``at`` may use.

    ``open_hours``: local day → hours open, from the first day of the history to the last of the horizon; a closed
    day has 0, today what is still to come of it.  ``today_gone``: the open hours of today that are past.
    ``kept``: (processor, local day) → hours of its places that groups have, which nobody else can book.
    """

    at: datetime
    zone: ZoneInfo
    open_hours: Mapping[date, float]
    today_gone: float
    machines: Sequence[Machine]
    stays: Sequence[Stay] = ()
    loose: Sequence[Loose] = ()
    planned: Sequence[Planned] = ()
    kept: Mapping[tuple[int, date], float] = field(default_factory=dict)

    @property
    def today(self) -> date:
        return self.at.astimezone(self.zone).date()

    def hours_ahead(self, machine: Machine, day: date) -> float:
        """Hours of that day, today or later, in which the house is open, the processor too."""
        return max(0.0, self.open_hours.get(day, 0.0) - machine.shut.get(day, 0.0))

    def hours_behind(self, machine: Machine, day: date) -> float:
        """Hours of that day, today or earlier, in which the house was open, the processor too."""
        hours = self.today_gone if day == self.today else self.open_hours.get(day, 0.0)
        return max(0.0, hours - machine.shut_before.get(day, 0.0))


@dataclass(frozen=True)
class Course:
    """The area through one processor from ``at`` until the end of each local day, ``first_day`` the first.

    ``mean`` (mm²) and ``variance`` (mm⁴) are cumulative, one figure a day; ``booked_h`` are the hours that stand in
    the calendar ahead, ``sessions`` the past stays that it rests on.  The area is taken as Gamma with
    these moments.
    """

    processor: int
    first_day: date
    mean: Sequence[float]
    variance: Sequence[float]
    booked_h: float
    sessions: int
    watched_days: int = 0  # how far back the processor has been looked at
    loose_days: int = 0  # days of these on which sheets of nobody's stay went through
    idle_days: Sequence[float] = ()  # days without a sheet, cumulative: expected
    idle_variance: Sequence[float] = ()  # and their variance
    scatter_mm2: float = 0.0  # variance over mean of what a short while brings

    def day(self, number: int) -> date:
        return self.first_day + timedelta(days=number)

    @property
    def by_day(self) -> list[float]:
        """What each day adds, mm²."""
        return [now - before for now, before in zip(self.mean, [0.0, *self.mean], strict=False)]
