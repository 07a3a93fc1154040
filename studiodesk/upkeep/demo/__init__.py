"""A studio to look at: Ostermill with its quarter moved up to now, and days around today made through the acts."""

from .building import Demo, build

__all__ = ["Demo", "build"]
