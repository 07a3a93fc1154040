"""Who has which station when, and everything that stands around it."""

from .changing import BookingChange, BookingKit, Series
from .groups import GroupStay
from .holds import Booking, Hold, ZoneHold
from .house import CalendarLink, FaultReport, HouseRule, Outage, Visit
from .waiting import Offer, UsualNeed, WaitingWish

__all__ = [
    "Booking",
    "BookingChange",
    "BookingKit",
    "CalendarLink",
    "FaultReport",
    "GroupStay",
    "Hold",
    "HouseRule",
    "Offer",
    "Outage",
    "Series",
    "UsualNeed",
    "Visit",
    "WaitingWish",
    "ZoneHold",
]
