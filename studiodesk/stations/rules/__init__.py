"""Pure decisions about the house: its hours and machines, and who opens it when."""

from .hours import (
    MINUTES_A_DAY,
    STILL_WARM,
    Hours,
    Shut,
    fewer_places,
    heats,
    last_sheet_in,
    open_around,
    open_spans,
    ready_time,
    soonest_warm,
    wall,
)
from .kit import LONGEST_KEPT, MOST_PIECES, fewer_pieces, kit_refusal

__all__ = [
    "LONGEST_KEPT",
    "MINUTES_A_DAY",
    "MOST_PIECES",
    "STILL_WARM",
    "Hours",
    "Shut",
    "fewer_pieces",
    "fewer_places",
    "heats",
    "kit_refusal",
    "last_sheet_in",
    "open_around",
    "open_spans",
    "ready_time",
    "soonest_warm",
    "wall",
]
