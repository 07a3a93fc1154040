"""Pages about time: the day, finding, booking, what is mine."""

from .booking import book
from .calendars import booking_calendar
from .changing import change_booking, undo_change
from .days import day, kind_day
from .finding import find, usual
from .house_rules import house_rule, house_rules
from .seeing import booking, cancel_booking, my_bookings
from .series import cancel_series, series, series_new
from .waiting import accept_offer, all_waiting, decline_offer, stop_waiting, wait, waiting

__all__ = [
    "accept_offer",
    "all_waiting",
    "book",
    "booking",
    "booking_calendar",
    "cancel_booking",
    "cancel_series",
    "change_booking",
    "day",
    "decline_offer",
    "find",
    "house_rule",
    "house_rules",
    "kind_day",
    "my_bookings",
    "series",
    "series_new",
    "stop_waiting",
    "undo_change",
    "usual",
    "wait",
    "waiting",
]
