"""Pages about time: the day, finding, booking, what is mine."""

from .booking import book, booking, cancel_booking, my_bookings
from .days import day, kind_day
from .finding import find

__all__ = ["book", "booking", "cancel_booking", "day", "find", "kind_day", "my_bookings"]
