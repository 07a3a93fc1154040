"""What a forecast says to whoever reads it."""

from .beside import LIMITS, bath_score_words, more, passed_words, score_words, verdict
from .classes import ask_words, jug_words
from .days import area_words, day_words, plain_day, times
from .listed import dates, good_words, lead, middle, short
from .sentences import (
    HORIZON_WEEKS,
    age_day,
    basis,
    cause,
    four_weeks_mm2,
    hours_words,
    reached,
    rest,
    sentence,
)

__all__ = [
    "HORIZON_WEEKS",
    "LIMITS",
    "age_day",
    "area_words",
    "ask_words",
    "basis",
    "bath_score_words",
    "cause",
    "dates",
    "day_words",
    "four_weeks_mm2",
    "good_words",
    "hours_words",
    "jug_words",
    "lead",
    "middle",
    "more",
    "passed_words",
    "plain_day",
    "reached",
    "rest",
    "score_words",
    "sentence",
    "short",
    "times",
    "verdict",
]
