"""What is said in the chemistry, by subject; importing this registers all of it."""

from . import alerts, book, figures, mixing, paper, strips, tablet, waste
from .book import HOW_MANY, HOW_MUCH
from .figures import lead_words

__all__ = [
    "HOW_MANY",
    "HOW_MUCH",
    "alerts",
    "book",
    "figures",
    "lead_words",
    "mixing",
    "paper",
    "strips",
    "tablet",
    "waste",
]
