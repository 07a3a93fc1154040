"""Pages of the baths, of the tablet beside a processor, and of sheets logged at the desk."""

from .baths import bath, bath_entry, bath_entry_undo, board
from .desk import desk_sheets, desk_sheets_undo
from .tablet import tablet, tablet_look, tablet_processor, tablet_undo

__all__ = [
    "bath",
    "bath_entry",
    "bath_entry_undo",
    "board",
    "desk_sheets",
    "desk_sheets_undo",
    "tablet",
    "tablet_look",
    "tablet_processor",
    "tablet_undo",
]
