"""What the pages of the desk show."""

from .ahead import Ahead, AheadOfDesk, Earlier, ahead, ahead_of_desk, planned_changes, soonest, worst_first
from .house import (
    access_booking,
    bookings_named,
    can_be_cancelled,
    closures,
    day_to_show,
    first_page,
    have_yet_to_read,
    minutes_as_clock,
    people_listed,
    person_page,
    the_place,
    thing,
    things_to_close,
)
from .now import DeskNow, desk_now

__all__ = [
    "Ahead",
    "AheadOfDesk",
    "DeskNow",
    "Earlier",
    "access_booking",
    "ahead",
    "ahead_of_desk",
    "bookings_named",
    "can_be_cancelled",
    "closures",
    "day_to_show",
    "desk_now",
    "first_page",
    "have_yet_to_read",
    "minutes_as_clock",
    "people_listed",
    "person_page",
    "planned_changes",
    "soonest",
    "the_place",
    "thing",
    "things_to_close",
    "worst_first",
]
