"""Pages of whoever opens the house: the shifts, one of them, planning, the hand-over."""

from .kit import kit, kit_item, kit_new
from .planning import shift_new, shifts_plan
from .shift import shift, shift_hand_over
from .weeks import shifts

__all__ = [
    "kit",
    "kit_item",
    "kit_new",
    "shift",
    "shift_hand_over",
    "shift_new",
    "shifts",
    "shifts_plan",
]
