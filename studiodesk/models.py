"""Gathers the areas' models for Django.  Nothing imports this module."""

from studiodesk.bookings.models import Booking, Hold, ZoneHold
from studiodesk.chemistry.models import (
    Bath,
    BathAlert,
    BathEntry,
    BathSetting,
    Feed,
    Fill,
    SheetSize,
    StripReading,
)
from studiodesk.journal.models import Entry, GivenAnswer, JournalGate, Notice
from studiodesk.people.models import Member, Tablet
from studiodesk.planning.models import KeptForecast
from studiodesk.safety.models import SafetyAcknowledgement, SafetyNote
from studiodesk.stations.models import (
    Closure,
    Lane,
    LightZone,
    OpeningSpan,
    Process,
    Processor,
    Resource,
    Station,
    Studio,
)

__all__ = [
    "Bath",
    "BathAlert",
    "BathEntry",
    "BathSetting",
    "Booking",
    "Closure",
    "Entry",
    "Feed",
    "Fill",
    "GivenAnswer",
    "Hold",
    "JournalGate",
    "KeptForecast",
    "Lane",
    "LightZone",
    "Member",
    "Notice",
    "OpeningSpan",
    "Process",
    "Processor",
    "Resource",
    "SafetyAcknowledgement",
    "SafetyNote",
    "SheetSize",
    "Station",
    "StripReading",
    "Studio",
    "Tablet",
    "ZoneHold",
]
