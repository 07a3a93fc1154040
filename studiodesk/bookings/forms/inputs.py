"""Inputs and choices that several forms share."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, time, timedelta
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk.stations.models import Process
from studiodesk.words import length_words

from ..rules.asking import LONGEST

#: The choice that stands for "no process".
NOTHING = "-"
LENGTHS = [timedelta(minutes=minutes) for minutes in (30, 60, 90, 120, 150, 180, 240, 300, 360, 480)]
USUAL_MINUTES = 120
#: Further away nobody books, and the calendar itself ends somewhere.
FURTHEST = timedelta(days=5 * 366)


def length_choices(grid: timedelta) -> list[tuple[int, str]]:
    """Lengths in minutes that can be booked on this grid: the usual ones, or multiples of an unusual grid."""
    fitting = [length for length in LENGTHS if length >= grid and not length % grid]
    if len(fitting) < 3:
        fitting = [grid * n for n in range(1, 9) if grid * n <= LONGEST]
    return [(int(length.total_seconds()) // 60, length_words(length)) for length in fitting]


def usual_length(grid: timedelta) -> int:
    """The length in minutes that is looked for unless somebody says otherwise."""
    return min((minutes for minutes, _words in length_choices(grid)), key=lambda minutes: abs(minutes - USUAL_MINUTES))


def process_choices(processes: Sequence[Process]) -> list[tuple[str, Any]]:
    return [*((process.code, process.name) for process in processes), (NOTHING, _("Nothing"))]


def near_enough(day: date, today: date) -> date:
    """``day`` itself; ``ValidationError`` if it lies more than five years away."""
    if abs(day - today) > FURTHEST:
        raise forms.ValidationError(_("Choose a day within five years of today."))
    return day


class _TextWhenWrong:
    """What was typed is kept: a value that a date or time field may not carry is shown in a plain one."""

    fits = staticmethod(date.fromisoformat)

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context: dict[str, Any] = super().get_context(name, value, attrs)  # type: ignore[misc]
        shown = context["widget"]["value"]
        try:
            if shown:
                self.fits(shown)
        except ValueError:
            context["widget"]["type"] = "text"
        return context


class DateInput(_TextWhenWrong, forms.DateInput):
    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


class TimeInput(_TextWhenWrong, forms.TimeInput):
    input_type = "time"
    fits = staticmethod(time.fromisoformat)

    def __init__(self) -> None:
        super().__init__(format="%H:%M", attrs={"step": 300})


TIMES_WRITTEN = ["%H:%M", "%H.%M", "%H:%M:%S"]
