"""What is taught, when, who has a place, and what the tutor knows of them."""

from .courses import Course, Hire, Meeting
from .outlines import Outline, OutlineNeed, OutlinePaper
from .places import Attendance, Place, PrivateNeed, Seat

__all__ = [
    "Attendance",
    "Course",
    "Hire",
    "Meeting",
    "Outline",
    "OutlineNeed",
    "OutlinePaper",
    "Place",
    "PrivateNeed",
    "Seat",
]
