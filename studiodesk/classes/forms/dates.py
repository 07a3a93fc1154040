"""Forms of dates: planning them, moving them, who teaches, why not."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django import forms
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from studiodesk.house_forms import HouseForm
from studiodesk.people.models import Member

from ..models import Outline
from ..rules.dates import MOST_DATES, every_weeks

#: Nobody plans further ahead; a day far beyond is a slip of the finger.
FURTHEST = timedelta(days=5 * 365 + 1)
DAY = {"type": "date"}
TIME = {"type": "time"}


def tutors() -> Any:
    """Whoever may teach, by name."""
    return Member.objects.filter(Q(is_tutor=True) | Q(is_staff=True), is_active=True).order_by("name", "pk")


class TutorChoice(forms.ModelChoiceField):
    def label_from_instance(self, obj: Any) -> str:
        return str(obj.name)


class DayForm(HouseForm):
    """A form with a first day, which lies between ``today`` (the studio's) and five years on."""

    first_day = forms.DateField(label=_("First day"), widget=forms.DateInput(attrs=DAY, format="%Y-%m-%d"))
    begins = forms.TimeField(label=_("Begins"), widget=forms.TimeInput(attrs=TIME, format="%H:%M"))

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        self.today = today
        super().__init__(*args, **kwargs)

    def clean_first_day(self) -> date:
        day: date = self.cleaned_data["first_day"]
        if day < self.today:
            raise forms.ValidationError(_("First day: that day has passed."))
        if day > self.today + FURTHEST:
            raise forms.ValidationError(_("First day: at most five years ahead."))
        return day


class DatesForm(DayForm):
    """The days of one run, or of several runs: for an outline of one date each day is a class of its own."""

    every = forms.IntegerField(
        label=_("Every so many weeks"),
        min_value=1,
        max_value=52,
        initial=1,
        help_text=_("At the same time by the clock."),
    )
    times = forms.IntegerField(label=_("How often"), min_value=1, max_value=MOST_DATES, initial=1)
    tutor = TutorChoice(
        label=_("Tutor"), queryset=Member.objects.none(), required=False, empty_label=_("Not known yet")
    )
    heads_most = forms.IntegerField(label=_("At most so many people"), min_value=1, max_value=500)
    heads_least = forms.IntegerField(label=_("At least so many people"), min_value=1, max_value=500)
    is_private = forms.BooleanField(label=_("Private: only whoever has the link to it can sign up"), required=False)

    def __init__(self, *args: Any, outline: Outline, by: Member, **kwargs: Any) -> None:
        """``by``: who plans; a tutor who is not staff plans only what they teach themselves."""
        initial = {
            "heads_most": outline.heads_most,
            "heads_least": outline.heads_least,
            "times": outline.meetings,
            **(kwargs.pop("initial", None) or {}),
        }
        super().__init__(*args, initial=initial, **kwargs)
        fields: Any = self.fields
        fields["tutor"].queryset = tutors() if by.is_staff else tutors().filter(pk=by.pk)
        self.by = by
        self.outline = outline
        if outline.meetings > 1:
            fields["times"].help_text = _("This takes %(dates)s dates: they are one course.") % {
                "dates": outline.meetings
            }
            fields["times"].widget = forms.HiddenInput()
            fields["times"].disabled = True

    def clean(self) -> dict[str, Any]:
        if not self.by.is_staff:
            self.cleaned_data["tutor"] = self.by
        least, most = self.cleaned_data.get("heads_least"), self.cleaned_data.get("heads_most")
        if least and most and least > most:
            self.add_error("heads_least", _("At least so many people: no more than at most."))
        if {"first_day", "every", "times"} <= self.cleaned_data.keys() and self._days()[-1] > self.today + FURTHEST:
            self.add_error("times", _("How often: the last of these days is more than five years ahead."))
        return self.cleaned_data

    def _days(self) -> list[date]:
        found = self.cleaned_data
        return every_weeks(found["first_day"], found["every"], found["times"])

    def runs(self) -> list[list[date]]:
        """The days of each course that is to be made."""
        days = self._days()
        return [days] if self.outline.meetings > 1 else [[day] for day in days]


class MoveForm(DayForm):
    """A course of one date to another day or time; one of several is moved by its first, the others as far."""


class TutorForm(HouseForm):
    tutor = TutorChoice(label=_("Tutor"), queryset=Member.objects.none(), empty_label=_("Choose"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: Any = self.fields
        fields["tutor"].queryset = tutors()


class CallOffForm(HouseForm):
    because = forms.CharField(label=_("Why: everybody who signed up reads it"), max_length=200)
