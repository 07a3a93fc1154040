"""What is said in the chemistry, by subject; importing this registers all of it."""

from . import alerts, book, mixing
from .book import HOW_MANY, HOW_MUCH

__all__ = ["HOW_MANY", "HOW_MUCH", "alerts", "book", "mixing"]
