"""Studios that never were: an independent simulator to hold the forecast against.

It imports nothing of ``studiodesk`` (``tests/planning/test_simulator.py`` sees to it) and shares no formula with the
model that it tests.
"""

from .recipe import Bursts, Recipe, Season, Step, Trade, usual
from .studio import AREA, Booking, Fed, Machine, Studio, simulate

__all__ = [
    "AREA",
    "Booking",
    "Bursts",
    "Fed",
    "Machine",
    "Recipe",
    "Season",
    "Step",
    "Studio",
    "Trade",
    "simulate",
    "usual",
]
