"""What is said when something of a booking cannot be, and the way on; by noun."""

from . import booking

__all__ = ["booking"]
