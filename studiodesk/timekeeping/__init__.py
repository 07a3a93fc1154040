"""Spans and local days, pure: no Django, no clock."""

from .days import (
    MissingTime,
    day_span,
    days_shifted,
    is_missing,
    localise,
    studio_day,
    week_shifted,
    whole_days_between,
)
from .spans import Span, merged, without

__all__ = [
    "MissingTime",
    "Span",
    "day_span",
    "days_shifted",
    "is_missing",
    "localise",
    "merged",
    "studio_day",
    "week_shifted",
    "whole_days_between",
    "without",
]
