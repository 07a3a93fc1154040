"""The pages of classes."""

from .courses import course, invited, whats_on
from .dates import dates
from .feeds import atom, calendar, course_calendar, invited_calendar, rss
from .hires import hire, hire_change, hire_new, hires
from .outlines import outline, outline_new, outlines
from .places import guest_place, place, your_places
from .plan import plan
from .roster import roster

__all__ = [
    "atom",
    "calendar",
    "course",
    "course_calendar",
    "dates",
    "guest_place",
    "hire",
    "hire_change",
    "hire_new",
    "hires",
    "invited",
    "invited_calendar",
    "outline",
    "outline_new",
    "outlines",
    "place",
    "plan",
    "roster",
    "rss",
    "whats_on",
    "your_places",
]
