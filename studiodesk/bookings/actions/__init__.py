"""The only writers of bookings and holds, by what is done."""

from .booking import arrive, book, cancel, leave, undo_arrive, undo_leave
from .closing import close_processor, close_station, reopen
from .past import record_past_bookings

__all__ = [
    "arrive",
    "book",
    "cancel",
    "close_processor",
    "close_station",
    "leave",
    "record_past_bookings",
    "reopen",
    "undo_arrive",
    "undo_leave",
]
