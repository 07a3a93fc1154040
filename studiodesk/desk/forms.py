"""Turns requests of the desk into values."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from studiodesk.house_forms import HouseForm
from studiodesk.stations.models import Processor, Station
from studiodesk.timekeeping import Span, localise
from studiodesk.timekeeping.days import MissingTime

from . import queries


def thing_named(key: str) -> Station | Processor:
    """``"station 3"`` or ``"processor 1"``; ``ValidationError`` if there is none."""
    found = queries.thing(key)
    if found is None:
        raise ValidationError(_("Choose one of the list."))
    return found


#: A longer closure is more often a slip of the month than a wish.
ASK_BEYOND = timedelta(days=30)


class CloseForm(HouseForm):
    thing = forms.ChoiceField(label=_("What"))
    first_day = forms.DateField(label=_("From, day"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    first_time = forms.TimeField(label=_("From, time"), widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))
    last_day = forms.DateField(label=_("Until, day"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    last_time = forms.TimeField(label=_("Until, time"), widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))
    mean_it = forms.BooleanField(required=False, label=_("Yes, for all of that time"))
    reason = forms.CharField(
        label=_("Why"), max_length=200, help_text=_("One line for whoever wonders. No names of people.")
    )

    def __init__(self, *args: Any, zone: ZoneInfo, now: datetime, **kwargs: Any) -> None:
        today = now.astimezone(zone).date()
        kwargs.setdefault("initial", {"first_day": today, "last_day": today})
        super().__init__(*args, **kwargs)
        self.zone = zone
        self.long = False
        stations, processors = queries.things_to_close()
        self.fields["thing"].choices = [  # type: ignore[attr-defined]
            ("", _("Choose")),
            (_("Stations"), [(f"station {one.pk}", one.name) for one in stations]),
            (_("Processors"), [(f"processor {one.pk}", one.name) for one in processors]),
        ]

    def clean_thing(self) -> Station | Processor:
        return thing_named(self.cleaned_data["thing"])

    def _moment(self, which: str) -> datetime | None:
        day, time = self.cleaned_data.get(f"{which}_day"), self.cleaned_data.get(f"{which}_time")
        if day is None or time is None:
            return None
        try:
            return localise(datetime.combine(day, time), self.zone, strict=True)
        except MissingTime:
            self.add_error(f"{which}_time", _("The clock jumps over that time on this day."))
        except OverflowError:
            self.add_error(f"{which}_day", _("That day is out of reach."))
        return None

    def clean(self) -> dict[str, Any]:
        starts, ends = self._moment("first"), self._moment("last")
        if starts and ends:
            if ends <= starts:
                self.add_error("last_time", _("The end has to come after the beginning."))
            elif (ends - starts).days > 366:
                self.add_error("last_day", _("At most a year at once."))
            elif ends - starts > ASK_BEYOND:
                self.long = True
                if not self.cleaned_data.get("mean_it"):
                    days = (ends - starts).days
                    self.add_error("mean_it", _now("That is %(days)d days. Tick this if it is so.") % {"days": days})
            self.cleaned_data["starts"], self.cleaned_data["ends"] = starts, ends
        return self.cleaned_data

    def span(self) -> Span:
        return Span(self.cleaned_data["starts"], self.cleaned_data["ends"])


class ReopenForm(HouseForm):
    """Times in whole seconds since 1970, UTC."""

    thing = forms.CharField(max_length=40)
    starts = forms.IntegerField(min_value=0, max_value=99_999_999_999)
    ends = forms.IntegerField(min_value=1, max_value=99_999_999_999)

    def clean_thing(self) -> Station | Processor:
        return thing_named(self.cleaned_data["thing"])

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if data.get("starts") is not None and data.get("ends") is not None and data["ends"] <= data["starts"]:
            self.add_error("ends", _("The end has to come after the beginning."))
        return data

    def span(self) -> Span:
        starts, ends = (datetime.fromtimestamp(self.cleaned_data[name], UTC) for name in ("starts", "ends"))
        return Span(starts, ends)
