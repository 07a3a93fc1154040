"""The house itself, and who opens it when."""

from .house import (
    WEEKDAYS,
    Closure,
    KitItem,
    Lane,
    LightZone,
    OpeningSpan,
    Process,
    Processor,
    Resource,
    Station,
    Studio,
)
from .shifts import Service, Shift, ShiftSwap

__all__ = [
    "WEEKDAYS",
    "Closure",
    "KitItem",
    "Lane",
    "LightZone",
    "OpeningSpan",
    "Process",
    "Processor",
    "Resource",
    "Service",
    "Shift",
    "ShiftSwap",
    "Station",
    "Studio",
]
