"""The sums of one tank, as values.  Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any


@dataclass(frozen=True)
class TankState:
    """The sums of one tank since ``since`` (``None``: no refill is known, everything recorded counts).

    ``given_pl`` is what counts against ``due_pl``: whole strokes by machine, every giving by hand.  ``extra_pl`` is
    given by a person on top of that (turnovers and silver count it, what is outstanding does not).  ``idle_pl`` is
    the part of ``due_pl`` that idle days asked, ``start_up_pl`` the part that openings did.  ``worn_mm2`` is the area
    that wears the solution now in the tank (a partial dump takes its share away); another class of paper counts by
    the ratio of the capacities when it went through, so that the fractions of the classes add up.  ``short_pl`` is
    how far the tank stands below its level.  ``overflow_pl`` ran over the weir or was drawn off, ``dumped_pl`` was
    poured away.  ``age_from`` is since when its shelf life counts, if not since ``since``; of it ``bottled_s`` seconds
    were spent in the marked bottle, in which it stands since ``bottled_at``.
    """

    since: datetime | None = None
    idle_from: datetime | None = None  # the last sheets, or the refill
    idle_days: int = 0  # whole days since then that are already counted
    sheets: int = 0
    area_mm2: int = 0
    due_pl: int = 0
    idle_pl: int = 0
    given_pl: int = 0
    extra_pl: int = 0
    water_pl: int = 0
    working_pl: int = 0
    worn_mm2: float = 0.0
    short_pl: int = 0
    start_up_pl: int = 0
    overflow_pl: int = 0
    dumped_pl: int = 0
    silver_in_pg: int = 0
    silver_tank_pg: float = 0.0
    silver_overflow_pg: float = 0.0
    silver_lost_pg: float = 0.0
    silver_dumped_pg: float = 0.0
    silver_corrected_pg: float = 0.0  # what measured strips added (or took) against the reckoning
    silver_read_at: datetime | None = None
    silver_read_ug_per_l: int | None = None  # measured
    silver_reckoned_ug_per_l: float | None = None  # reckoned at that same moment
    condemned_at: datetime | None = None
    contaminated_at: datetime | None = None
    dumped_at: datetime | None = None
    age_from: datetime | None = None
    rotation: int = 0
    bottled_s: int = 0
    bottled_at: datetime | None = None
    silver_brought_pg: float = 0.0  # with what was poured in at the refill: the second fixing bath became this one

    @property
    def outstanding_pl(self) -> int:
        return self.due_pl - self.given_pl

    def to_row(self) -> dict[str, int | float | str | None]:
        """As JSON can keep it, without losing a bit: moments as ISO text, floats as they print."""
        row: dict[str, int | float | str | None] = {}
        for field in fields(self):
            value = getattr(self, field.name)
            row[field.name] = value.isoformat() if isinstance(value, datetime) else value
        return row

    @classmethod
    def from_row(cls, row: Mapping[str, Any]) -> TankState:
        """The state that ``to_row`` wrote; a field that an older row lacks takes its beginning value."""
        values: dict[str, Any] = {}
        for field in fields(cls):
            value = row.get(field.name, field.default)
            if isinstance(value, str):
                value = datetime.fromisoformat(value)
            elif field.type == "float" and value is not None:
                value = float(value)  # a database may hand back 1e16 as a whole number
            values[field.name] = value
        return cls(**values)


@dataclass(frozen=True)
class Filling:
    """The refill with which a tank begins.

    A rotated fixing bath goes on with what was the second one: its shelf life from ``age_from``, its silver
    (``silver_pg``), its ``rotation``; only its count begins again.
    """

    at: datetime
    age_from: datetime | None = None
    rotation: int = 0
    silver_pg: int = 0


def begun(since: datetime | Filling | None) -> TankState:
    """A tank just filled (or, with ``None``, one of which no filling is known)."""
    if isinstance(since, Filling):
        return TankState(
            since=since.at,
            idle_from=since.at,
            age_from=since.age_from,
            rotation=since.rotation,
            silver_tank_pg=float(since.silver_pg),
            silver_brought_pg=float(since.silver_pg),
        )
    return TankState(since=since, idle_from=since)
