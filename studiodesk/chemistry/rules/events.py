"""What can happen to a bath, as pure values in time order.  Amounts are pL, areas mm², silver µg/L."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class SheetsThrough:
    """``sheets`` sheets of ``sheet_area_mm2`` each; 0 mm² for cleaning sheets, which are logged and ask nothing.

    ``paper`` is the class of paper whose figures they go by; empty: the bath's own.
    """

    at: datetime
    sheet_area_mm2: int
    sheets: int
    paper: str = ""


@dataclass(frozen=True)
class Given:
    """Replenisher given by a person; ``drawn_pl`` was drawn off first, where there is no weir."""

    at: datetime
    pl: int
    drawn_pl: int = 0


@dataclass(frozen=True)
class WorkingSolution:
    """Topped up with working solution: adds to what the bath can do."""

    at: datetime
    pl: int


@dataclass(frozen=True)
class Water:
    """Topped up with water for what evaporated: never a turnover, never capacity."""

    at: datetime
    pl: int


@dataclass(frozen=True)
class Lost:
    """Spilled, leaked or carried out: the level is that much lower until something fills it."""

    at: datetime
    pl: int


@dataclass(frozen=True)
class PartialDump:
    """So much drawn off and made up with fresh solution to the level."""

    at: datetime
    pl: int


@dataclass(frozen=True)
class StripRead:
    """A test strip; with a figure it corrects the silver reckoned so far."""

    at: datetime
    silver_ug_per_l: int | None = None


@dataclass(frozen=True)
class Condemned:
    """A person judged the bath spent."""

    at: datetime


@dataclass(frozen=True)
class Contaminated:
    """Something got in that does not belong there."""

    at: datetime


@dataclass(frozen=True)
class Dumped:
    """Poured away whole, and not yet filled again."""

    at: datetime


@dataclass(frozen=True)
class StartUp:
    """The processor was opened: so much replenisher is asked for by that alone."""

    at: datetime
    pl: int


@dataclass(frozen=True)
class IntoBottle:
    """Poured back into its marked bottle: it ages by the bottle's shelf life."""

    at: datetime


@dataclass(frozen=True)
class OutOfBottle:
    """Poured out again: it ages as it does in tank or tray."""

    at: datetime


@dataclass(frozen=True)
class Note:
    """Something written down that changes no sum."""

    at: datetime


Event = (
    SheetsThrough
    | Given
    | WorkingSolution
    | Water
    | Lost
    | PartialDump
    | StripRead
    | Condemned
    | Contaminated
    | Dumped
    | StartUp
    | IntoBottle
    | OutOfBottle
    | Note
)
