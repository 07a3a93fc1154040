"""A series as a request: a booking, and how it recurs; a change of one; which of its bookings are meant."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from studiodesk.house_forms import HouseForm
from studiodesk.stations.models import Station
from studiodesk.timekeeping import Span

from ..models import Booking
from ..rules import series as rules
from ..rules.asking import LONGEST
from .booking import BookForm
from .inputs import TIMES_WRITTEN, DateInput, TimeInput, near_enough

#: The answer to a clash that leaves its day out.
LEAVE_OUT = "out"
#: What is booked instead lies so near the day at most: no page names anything farther.
AROUND = timedelta(days=7)


def weeks_apart() -> list[tuple[int, str]]:
    return [
        (number, ngettext("every week", "every %(number)s weeks", number) % {"number": number})
        for number in range(1, rules.MOST_WEEKS_APART + 1)
    ]


class SeriesForm(BookForm):
    """The first of them as a booking, how many weeks lie between, and the last day.  ``recurrence`` after cleaning."""

    every = forms.TypedChoiceField(label=_("How often?"), coerce=int, initial=1)
    last_day = forms.DateField(label=_("Until which day?"), widget=DateInput())

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["every"].choices = weeks_apart()

    def clean_last_day(self) -> date:
        return near_enough(self.cleaned_data["last_day"], self.today)

    @property
    def recurrence(self) -> rules.Recurrence:
        begins = self.cleaned_data["begins"]
        return rules.Recurrence(
            first_day=self.cleaned_data["day"],
            last_day=self.cleaned_data["last_day"],
            every_weeks=self.cleaned_data["every"],
            begins_minute=begins.hour * 60 + begins.minute,
            length=self.span.length,
        )


class SeriesTimeForm(HouseForm):
    """Another time of the day, another length, another station of the kind; empty fields stay as they are."""

    begins = forms.TimeField(label=_("From"), required=False, widget=TimeInput(), input_formats=TIMES_WRITTEN)
    until = forms.TimeField(label=_("Until"), required=False, widget=TimeInput(), input_formats=TIMES_WRITTEN)
    station = forms.ChoiceField(label=_("Station"), required=False)
    scope = forms.ChoiceField(label=_("Which of them?"), widget=forms.RadioSelect, initial=rules.FOLLOWING)

    def __init__(
        self, *args: Any, booking: Booking, stations: Sequence[Station], zone: ZoneInfo, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.booking, self.zone = booking, zone
        self.stations = {station.code: station for station in stations}
        self.fields["station"].choices = [("", _("as it is")), *((one.code, one.name) for one in stations)]
        self.fields["scope"].choices = scope_choices()

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        begins, until = data.get("begins"), data.get("until")
        starts, ends = (moment.astimezone(self.zone) for moment in (self.booking.starts, self.booking.ends))
        first = datetime.combine(date.min + timedelta(days=1), begins or starts.time())
        last = datetime.combine(date.min + timedelta(days=1), until or ends.time())
        if begins is None and until is None:
            return data
        # An end before the start lies after midnight, as on the page where a single one is booked.
        data["length"] = last - first + timedelta(days=last <= first)
        data["begins_minute"] = first.hour * 60 + first.minute
        if begins is not None and until is None:
            data["length"] = self.booking.ends - self.booking.starts
        return data

    @property
    def station_row(self) -> Station | None:
        return self.stations.get(self.cleaned_data["station"])


def scope_choices() -> list[tuple[str, Any]]:
    return [
        (rules.THIS, _("This one")),
        (rules.FOLLOWING, _("This one and those after it")),
        (rules.ALL, _("All that are still to come")),
    ]


def clash_field(day: date) -> str:
    return f"clash-{day.isoformat()}"


def option_value(station: Station, span: Span) -> str:
    """What stands in a form for "book this instead": the station and the two moments."""
    return f"{station.code}|{span.starts.isoformat()}|{span.ends.isoformat()}"


def read_choices(
    data: Mapping[str, str], stations: Mapping[str, Station]
) -> tuple[set[date], dict[date, tuple[Station, Span]]]:
    """The answers to clashes: days left out, and what is booked instead.  What cannot be read is no answer."""
    out: set[date] = set()
    instead: dict[date, tuple[Station, Span]] = {}
    for name, value in data.items():
        if not name.startswith("clash-"):
            continue
        try:
            day = date.fromisoformat(name.removeprefix("clash-"))
        except ValueError:
            continue
        if value == LEAVE_OUT:
            out.add(day)
            continue
        parts = value.split("|")
        try:
            code, starts, ends = parts
            span = Span(datetime.fromisoformat(starts), datetime.fromisoformat(ends))
        except ValueError:
            continue
        if code in stations and span.length <= LONGEST and abs(span.starts.date() - day) <= AROUND:
            instead[day] = (stations[code], span)
    return out, instead
