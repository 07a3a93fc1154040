"""What the forecast is read from, and what was foretold."""

from .fanning import fan_of
from .forecasting import Foretold, as_json, foretell
from .nights import changed_since, history_began, nights_since
from .telling import Score, earlier, latest, score, told

__all__ = [
    "Foretold",
    "Score",
    "as_json",
    "changed_since",
    "earlier",
    "fan_of",
    "foretell",
    "history_began",
    "latest",
    "nights_since",
    "score",
    "told",
]
