"""The entries of the baths, pages of the tablet beside a processor, and of sheets logged at the desk."""

from .desk import desk_sheets, desk_sheets_undo
from .entries import bath_entry, bath_entry_undo
from .tablet import tablet, tablet_look, tablet_processor, tablet_undo

__all__ = [
    "bath_entry",
    "bath_entry_undo",
    "desk_sheets",
    "desk_sheets_undo",
    "tablet",
    "tablet_look",
    "tablet_processor",
    "tablet_undo",
]
