"""A booking as a request: which station, which process, when, for whom."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk.answers import Refusal
from studiodesk.house_forms import HouseForm
from studiodesk.people.models import Member
from studiodesk.people.queries import people
from studiodesk.stations.models import Process, Station
from studiodesk.timekeeping import MissingTime, Span, localise
from studiodesk.words import say

from ..rules.asking import LONGEST
from .inputs import NOTHING, TIMES_WRITTEN, DateInput, TimeInput, near_enough, process_choices


class BookForm(HouseForm):
    """A station, a process if it takes one, and local times.  ``span`` is the UTC span after cleaning."""

    station = forms.ChoiceField(label=_("Station"))
    process = forms.ChoiceField(
        label=_("What will you print?"),
        error_messages={"required": _("Say what you will print: a booth is booked with a place at a processor.")},
    )
    day = forms.DateField(label=_("Day"), widget=DateInput())
    begins = forms.TimeField(label=_("From"), widget=TimeInput(), input_formats=TIMES_WRITTEN)
    until = forms.TimeField(label=_("Until"), widget=TimeInput(), input_formats=TIMES_WRITTEN)

    whom = forms.CharField(
        label=_("For whom?"), required=False, max_length=30, help_text=_("The member's number; empty: for yourself.")
    )

    def __init__(
        self,
        *args: Any,
        stations: Sequence[Station],
        processes: Sequence[Process],
        zone: ZoneInfo,
        by: Member,
        today: date,
        data: Mapping[str, str] | None = None,
        **kwargs: Any,
    ) -> None:
        if data is not None:
            found = self._process_of(stations, data)
            if not found and "process" not in data:
                # A link that leaves the question open: it is asked, and nobody has got anything wrong yet.
                data, kwargs["initial"] = None, data
            else:
                data = {**data, "process": found}
        super().__init__(data, *args, **kwargs)
        self.zone, self.by, self.today = zone, by, today
        if not by.may_run_the_house:
            del self.fields["whom"]
        self.stations = {station.code: station for station in stations}
        self.processes = {process.code: process for process in processes}
        self.fields["station"].choices = [(s.code, s.name) for s in stations]
        self.fields["process"].choices = [("", _("Choose …")), *process_choices(processes)]

    @staticmethod
    def _process_of(stations: Sequence[Station], data: Mapping[str, str]) -> str:
        """A station with one process needs no question, and one without any takes none, whatever the list says."""
        station = next((one for one in stations if one.code == data.get("station")), None)
        does = [process.code for process in station.processes.all()] if station else []
        if station is not None and not does:
            return NOTHING
        return data.get("process") or (does[0] if len(does) == 1 else "")

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if {"day", "begins", "until"} <= data.keys():
            day, begins, until = data["day"], data["begins"], data["until"]
            starts = self._moment("begins", day, begins)
            # An end before the start lies after midnight, if a booking can be so long; else it is a slip.
            ends = self._moment("until", day + timedelta(days=1 if until < begins else 0), until)
            if starts and ends:
                data["span"] = Span(starts, ends) if starts < ends else None
                if starts >= ends or (until < begins and ends - starts > LONGEST):
                    self.add_error("until", str(say(Refusal("bookings.ends_before_it_starts"))))
        return data

    def clean_day(self) -> date:
        return near_enough(self.cleaned_data["day"], self.today)

    def _moment(self, field: str, day: date, wall: time) -> datetime | None:
        try:
            return localise(datetime.combine(day, wall), self.zone, strict=True)
        except MissingTime:
            self.add_error(field, str(say(Refusal("bookings.missing_time"))))
            return None

    def clean_whom(self) -> Member | None:
        number: str = self.cleaned_data["whom"].strip()
        if not number:
            return None
        found = people().filter(number__iexact=number).first()
        if found is None:
            raise forms.ValidationError(_("Nobody here has this number."))
        return found

    @property
    def for_member(self) -> Member:
        return self.cleaned_data.get("whom") or self.by

    @property
    def station_row(self) -> Station:
        return self.stations[self.cleaned_data["station"]]

    @property
    def process_row(self) -> Process | None:
        return self.processes.get(self.cleaned_data["process"])

    @property
    def span(self) -> Span:
        span: Span = self.cleaned_data["span"]
        return span


#: On which field of the form a refusal is shown; the others stand above it.
FIELD_OF = {
    "bookings.needs_process": "process",
    "bookings.unknown_process_for_station": "process",
    "bookings.no_processor": "process",
    "bookings.in_the_past": "begins",
    "bookings.off_grid": "begins",
    "bookings.not_warm": "begins",
    "bookings.too_short": "until",
    "bookings.too_long": "until",
    "bookings.closed": "begins",
    "bookings.no_time_to_clear_up": "until",
    "bookings.closed_throughout": "day",
    "bookings.too_many_guests": "guests",
    "bookings.needs_adult": "adult_name",
}


def query_of(station: Station, process: Process | None, span: Span, zone: ZoneInfo) -> dict[str, str]:
    """The fields of ``BookForm`` that stand for this wish; without a process its question stays open."""
    starts, ends = span.starts.astimezone(zone), span.ends.astimezone(zone)
    return {
        "station": station.code,
        **({"process": process.code} if process else {}),
        "day": starts.date().isoformat(),
        "begins": f"{starts:%H:%M}",
        "until": f"{ends:%H:%M}",
    }
