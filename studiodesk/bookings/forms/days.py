"""A day to look at."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk.house_forms import HouseForm

from .inputs import DateInput, near_enough


class GoToForm(HouseForm):
    """A day to look at."""

    on = forms.DateField(label=_("Go to"), widget=DateInput())

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today

    def clean_on(self) -> date:
        return near_enough(self.cleaned_data["on"], self.today)
