"""Every read of bookings and holds, by noun."""

from .days import DayView, KindDay, day_view, kind_day, note_of
from .finding import DAYS as SEARCHED_DAYS
from .finding import FreeTime, Near, free_times, near
from .lists import (
    ToWarm,
    access_booking,
    bookings_in_the_way,
    bookings_on,
    coming_and_gone,
    in_between,
    next_up,
    times_at_the_processor,
    to_warm,
    was_cancelled_by,
    who_is_in,
)
from .looking import Look, holds_touching, look, note_facts
from .previews import Preview, PrintingTimes, preview, printing_times

__all__ = [
    "SEARCHED_DAYS",
    "DayView",
    "FreeTime",
    "KindDay",
    "Look",
    "Near",
    "Preview",
    "PrintingTimes",
    "ToWarm",
    "access_booking",
    "bookings_in_the_way",
    "bookings_on",
    "coming_and_gone",
    "day_view",
    "free_times",
    "holds_touching",
    "in_between",
    "kind_day",
    "look",
    "near",
    "next_up",
    "note_facts",
    "note_of",
    "preview",
    "printing_times",
    "times_at_the_processor",
    "to_warm",
    "was_cancelled_by",
    "who_is_in",
]
