"""Turns requests about shifts into values."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from studiodesk.house_forms import HouseForm
from studiodesk.people.models import Member
from studiodesk.timekeeping import Span, localise
from studiodesk.timekeeping.days import MissingTime

from . import queries
from .models import KitItem
from .rules import LONGEST_KEPT, MOST_PIECES
from .rules.shifts import MOST_WEEKS

FARTHEST = timedelta(days=366)
#: What an item of kit is called, sort by sort.
SORTS = [
    ("lens", _("Enlarging lens")),
    ("negative carrier", _("Negative carrier")),
    ("masking frame", _("Masking frame")),
    ("grain focuser", _("Grain focuser")),
    ("light box", _("Light box")),
    ("tank", _("Film tank")),
    ("reel", _("Film reel")),
    ("drying", _("Place to dry")),
    ("washing", _("Place to wash")),
    ("other", _("Other")),
]


class PlanForm(HouseForm):
    first_day = forms.DateField(
        label=_("From"),
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        help_text=_("The first day to plan. What stands already stays as it is."),
    )
    weeks = forms.IntegerField(label=_("How many weeks"), min_value=1, max_value=MOST_WEEKS, initial=4)
    longest = forms.IntegerField(
        label=_("At most so many hours each"),
        min_value=1,
        max_value=24,
        required=False,
        help_text=_("Longer opening hours are cut into even parts. Empty: one shift for each."),
    )

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today

    def clean_first_day(self) -> date:
        day: date = self.cleaned_data["first_day"]
        if day < self.today:
            raise ValidationError(_("From: this day is over. Shifts are planned from today on."))
        if day > self.today + FARTHEST:
            raise ValidationError(_("From: at most a year ahead."))
        return day

    def longest_time(self) -> timedelta | None:
        hours = self.cleaned_data["longest"]
        return timedelta(hours=hours) if hours else None


class NewShiftForm(HouseForm):
    """``span`` once it is valid; an end that is not later than the start is the next day's."""

    day = forms.DateField(label=_("Day"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    begins = forms.TimeField(label=_("From"), widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))
    until = forms.TimeField(
        label=_("Until"),
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        help_text=_("Earlier than “From” means on the next day."),
    )

    def __init__(self, *args: Any, zone: ZoneInfo, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.zone = zone

    def clean(self) -> dict[str, Any]:
        day, begins, until = (self.cleaned_data.get(name) for name in ("day", "begins", "until"))
        if day is None or begins is None or until is None:
            return self.cleaned_data
        starts = self._moment("begins", day, 0, begins)
        ends = self._moment("until", day, int(until <= begins), until)
        if starts and ends:
            self.span = Span(starts, ends)
        return self.cleaned_data

    def _moment(self, field: str, day: date, later: int, at: time) -> datetime | None:
        try:
            return localise(datetime.combine(day + timedelta(days=later), at), self.zone, strict=True)
        except MissingTime:
            self.add_error(field, _("The clock jumps over that time on this day."))
        except OverflowError:
            self.add_error("day", _("That day is out of reach."))
        return None


class AssignForm(HouseForm):
    person = forms.ModelChoiceField(label=_("Who has it"), queryset=Member.objects.none(), empty_label=_("Choose"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = queries.who_may_hold()  # type: ignore[attr-defined]


class HandOverForm(HouseForm):
    note = forms.CharField(
        label=_("For whoever comes next"),
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 6}),
        help_text=_(
            "What was left undone, what behaves oddly, what runs out. No names of members: whoever has the next shift "
            "and all staff read it."
        ),
    )


class KitForm(HouseForm):
    """An item that bookings can take along.  ``code`` is asked once, when it is new."""

    code = forms.CharField(
        label=_("Short code"), max_length=30, help_text=_("As it stands on its label, such as LENS-80. It stays.")
    )
    name = forms.CharField(label=_("Name"), max_length=120)
    sort = forms.ChoiceField(label=_("Sort"), choices=SORTS)
    pieces = forms.IntegerField(
        label=_("How many there are"),
        min_value=0,
        max_value=MOST_PIECES,
        help_text=_("0: none is lent out any more."),
    )
    kinds = forms.MultipleChoiceField(
        label=_("Kinds of station it goes with"),
        required=False,
        widget=forms.CheckboxSelectMultiple(),
        help_text=_("None ticked: any."),
    )
    process_codes = forms.MultipleChoiceField(
        label=_("Processes it goes with"),
        required=False,
        widget=forms.CheckboxSelectMultiple(),
        help_text=_("None ticked: any."),
    )
    from_end_minutes = forms.IntegerField(
        label=_("Kept only from so many minutes before the end"),
        required=False,
        min_value=0,
        max_value=LONGEST_KEPT,
        help_text=_("Empty: for the whole booking. Film is hung up at the end: 0."),
    )
    outlasts_minutes = forms.IntegerField(
        label=_("Kept so many minutes after the end"),
        required=False,
        min_value=0,
        max_value=LONGEST_KEPT,
        help_text=_("While film dries or prints wash."),
    )

    def __init__(self, *args: Any, item: KitItem | None = None, **kwargs: Any) -> None:
        if item is not None:
            kwargs["initial"] = {name: getattr(item, name) for name in self.base_fields}
        super().__init__(*args, **kwargs)
        # What an item goes with already can be kept, even if no station or process is called so any more.
        kinds = dict.fromkeys([*queries.kinds(), *(item.kinds if item else ())])
        names = {process.code: process.name for process in queries.processes()}
        codes = dict.fromkeys([*names, *(item.process_codes if item else ())])
        self.fields["kinds"].choices = [(kind, kind[:1].upper() + kind[1:]) for kind in kinds]
        self.fields["process_codes"].choices = [(code, names.get(code, code)) for code in codes]
        if item is not None:
            del self.fields["code"]

    def clean_code(self) -> str:
        code: str = self.cleaned_data["code"].strip()
        if not code.isascii() or not all(sign.isalnum() or sign in "-_." for sign in code) or code == "new":
            raise ValidationError(_("Short code: letters, digits, hyphens and full stops only, and not “new”."))
        if queries.is_kit(code):
            raise ValidationError(_("Short code: another item has this one."))
        return code

    @property
    def values(self) -> dict[str, Any]:
        """What the act takes, but for the code."""
        data = {name: self.cleaned_data[name] for name in self.fields if name != "code"}
        return {**data, "outlasts_minutes": data["outlasts_minutes"] or 0}
