"""Loading a studio from its description, and its history from files."""

from .history import import_history
from .load import load_studio
from .outcome import FileCount, ImportOutcome, LoadOutcome

__all__ = ["FileCount", "ImportOutcome", "LoadOutcome", "import_history", "load_studio"]
