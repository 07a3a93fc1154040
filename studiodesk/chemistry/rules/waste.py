"""What stands in a waste container, and where all the silver is.  Pure; amounts pL, silver pg.

A container takes what runs off and is poured away of the baths of its stream while it is the one that is connected,
what a person pours in, and gives it up when it is collected.  A measured level corrects the reckoned one; both are
kept.  Nothing here says where waste may go: local rules, the water authority and the contractor do.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from studiodesk.answers import Refusal
from studiodesk.units import PL_PER_ML

CONNECTED, DISCONNECTED, POURED_IN = "connected", "disconnected", "poured in"
MEASURED, COLLECTED, EMPTIED = "measured", "collected", "emptied"
FULL_FROM = 0.8  # of its capacity: an empty one has to be found in time
PERMIT_SOON = timedelta(days=60)
PG_PER_G = 10**12


@dataclass(frozen=True)
class Out:
    """What has left a tank, or tanks, so far: over the weir, drawn off and poured away."""

    pl: int = 0
    silver_pg: float = 0.0

    def __add__(self, other: Out) -> Out:
        return Out(self.pl + other.pl, self.silver_pg + other.silver_pg)

    def __sub__(self, other: Out) -> Out:
        return Out(self.pl - other.pl, self.silver_pg - other.silver_pg)


@dataclass(frozen=True)
class Line:
    """One thing that happened to a container.  ``pl``: poured in, measured or collected (None: all of it)."""

    at: datetime
    what: str
    pl: int | None = None
    silver_pg: float = 0.0


@dataclass(frozen=True)
class Content:
    """``level_pl`` stands in it with ``silver_pg``; ``corrected_pl`` is what measured levels added or took, all told.

    ``gone_*`` was collected or emptied; ``poured_in_pg`` is silver that a person brought from elsewhere.
    """

    level_pl: int = 0
    silver_pg: float = 0.0
    corrected_pl: int = 0
    gone_pl: int = 0
    gone_silver_pg: float = 0.0
    poured_in_pg: float = 0.0
    took: Out = Out()
    measured_at: datetime | None = None
    is_connected: bool = False

    def used(self, capacity_pl: int) -> float:
        return self.level_pl / capacity_pl


def content(lines: Iterable[Line], out: Callable[[datetime], Out], until: datetime) -> Content:
    """After ``lines`` (in time order), at ``until``.  ``out``: what the stream's baths gave off up to a moment."""
    state = Content()
    since: datetime | None = None
    for line in lines:
        if line.at > until:
            break
        state, since = _run_in(state, since, line.at, out)
        state = _applied(state, line)
        if line.what == CONNECTED:
            since = line.at
        elif line.what == DISCONNECTED:
            since = None
    state, since = _run_in(state, since, until, out)
    return replace(state, is_connected=since is not None)


def _run_in(
    state: Content, since: datetime | None, at: datetime, out: Callable[[datetime], Out]
) -> tuple[Content, datetime | None]:
    """What ran in between two moments, if it was connected."""
    if since is None or at <= since:
        return state, since
    came = out(at) - out(since)
    state = replace(
        state,
        level_pl=state.level_pl + came.pl,
        silver_pg=state.silver_pg + came.silver_pg,
        took=state.took + came,
    )
    return state, at


def _applied(state: Content, line: Line) -> Content:
    if line.what == POURED_IN:
        return replace(
            state,
            level_pl=state.level_pl + (line.pl or 0),
            silver_pg=state.silver_pg + line.silver_pg,
            poured_in_pg=state.poured_in_pg + line.silver_pg,
        )
    if line.what == MEASURED and line.pl is not None:
        # Silver does not come or go with a level that was reckoned wrongly: water did.
        return replace(
            state,
            level_pl=line.pl,
            corrected_pl=state.corrected_pl + line.pl - state.level_pl,
            measured_at=line.at,
        )
    if line.what in (COLLECTED, EMPTIED):
        goes = state.level_pl if line.pl is None else min(line.pl, state.level_pl)
        share = goes / state.level_pl if state.level_pl > 0 else 1.0
        gone = state.silver_pg * share
        return replace(
            state,
            level_pl=state.level_pl - goes,
            silver_pg=state.silver_pg - gone,
            gone_pl=state.gone_pl + goes,
            gone_silver_pg=state.gone_silver_pg + gone,
        )
    return state


@dataclass(frozen=True)
class Balance:
    """Where the silver is that the paper brought.  All pg; ``missing_pg`` is what the sums do not account for."""

    brought_pg: int
    in_tanks_pg: float
    in_containers_pg: float
    collected_pg: float
    lost_pg: float  # spilled or leaked
    uncaught_pg: float  # ran off while no container was connected
    corrected_pg: float  # what measured strips added (or took) against the reckoning
    poured_in_pg: float  # what people brought into the containers from elsewhere

    def grams(self) -> dict[str, float]:
        """Each line in g, by its name without its unit; what rounds to nothing is 0."""
        named = {name.removesuffix("_pg"): getattr(self, name) / PG_PER_G for name in self.__dataclass_fields__}
        return {name: round(value, 3) or 0.0 for name, value in named.items()}

    @property
    def accounted_pg(self) -> float:
        return self.in_tanks_pg + self.in_containers_pg + self.collected_pg + self.lost_pg + self.uncaught_pg

    @property
    def missing_pg(self) -> float:
        """In by area, strips' corrections and what was poured in, less all that is accounted for."""
        return self.brought_pg + self.corrected_pg + self.poured_in_pg - self.accounted_pg


def may_pour(
    *, stream: str, what: str, level_pl: int, pl: int, capacity_pl: int, at: datetime, now: datetime
) -> Refusal | None:
    """Only its own stream goes into a container, and no more than it holds.  ``stream`` and ``what`` are names."""
    if at > now:
        return Refusal("chemistry.in_the_future", {"at": at})
    if stream != what:
        return Refusal("chemistry.other_waste", {"stream": stream, "what": what})
    if pl <= 0:
        return Refusal("chemistry.amount_needed")
    if level_pl + pl > capacity_pl:
        return Refusal("chemistry.waste_over_its_edge", {"room_ml": max(0, capacity_pl - level_pl) // PL_PER_ML})
    return None


def may_measure(*, pl: int, capacity_pl: int, at: datetime, now: datetime) -> Refusal | None:
    if at > now:
        return Refusal("chemistry.in_the_future", {"at": at})
    if not 0 <= pl <= capacity_pl:
        return Refusal("chemistry.bottle_level_absurd", {"most_ml": capacity_pl // PL_PER_ML})
    return None


def is_nearly_full(level_pl: int, capacity_pl: int) -> bool:
    return level_pl >= FULL_FROM * capacity_pl


def ends_soon(valid_until: date | None, today: date) -> bool:
    """Sixty days before its end there is still time to ask for the next one; one that ended long ago is history."""
    return valid_until is not None and valid_until - today <= PERMIT_SOON
