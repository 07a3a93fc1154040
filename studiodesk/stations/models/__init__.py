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
from .jobs import Job, JobDone, ProcessorOpening
from .shifts import Service, Shift, ShiftSwap

__all__ = [
    "WEEKDAYS",
    "Closure",
    "Job",
    "JobDone",
    "KitItem",
    "Lane",
    "LightZone",
    "OpeningSpan",
    "Process",
    "Processor",
    "ProcessorOpening",
    "Resource",
    "Service",
    "Shift",
    "ShiftSwap",
    "Station",
    "Studio",
]
