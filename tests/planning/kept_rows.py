"""Rows as a night keeps them, made by hand: what the words are tried with."""

from datetime import UTC, date, datetime
from types import SimpleNamespace

from studiodesk.planning import words

TODAY = date(2026, 2, 24)


def march(day):
    return date(2026, 3, day)


def row(**changed):
    """A bath that use will end in March, with an age limit far away."""
    given = {
        "at": datetime(2026, 2, 24, 2, tzinfo=UTC), "day": TODAY, "p10": march(6), "p50": march(12), "p90": march(21),
        "first_limit": {"capacity": 0.99, "age": 0.01}, "nearest": "capacity", "room_mm2": 2_000_000,
        "age_ends_at": datetime(2026, 4, 30, tzinfo=UTC), "booked_s": 62 * 3600, "history_sessions": 41,
        "watched_days": 90, "loose_days": 0,
        "replenisher": None, "low_use": None, "widened": 1.0, "course": [], "in_four_weeks_mm2": 3_240_000.0,
    } | changed  # fmt: skip
    return SimpleNamespace(**given)


def said(today=TODAY, limited=None, spent=False, undated=False, **changed):
    how = {"limited": limited, "spent": spent, "undated": undated}
    return words.sentence(row(**changed), "Colour developer", today, **how)
