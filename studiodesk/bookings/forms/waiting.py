"""What somebody waits for, as a request."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, time, timedelta
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk.house_forms import HouseForm
from studiodesk.people.models import Member
from studiodesk.people.queries import people
from studiodesk.stations.models import Process, Station
from studiodesk.words import length_words

from ..rules.needs import Need, need_from_json, need_to_json
from .inputs import NOTHING, TIMES_WRITTEN, DateInput, TimeInput, length_choices, near_enough, process_choices

#: Longer no need is written.
MOST_SIGNS = 2000


def need_of_text(text: str) -> Need:
    """A need that came along in an address or a hidden field; what cannot be read is left open."""
    try:
        return need_from_json(json.loads(text[:MOST_SIGNS])) if text else Need()
    except (ValueError, RecursionError):
        return Need()


def text_of_need(need: Need) -> str:
    return json.dumps(need_to_json(need), separators=(",", ":"))


def _minutes(at: time | None) -> int | None:
    return None if at is None else at.hour * 60 + at.minute


def _time(minute: int | None) -> time | None:
    return None if minute is None else time(minute // 60 % 24, minute % 60)


class WaitForm(HouseForm):
    """Kind of station, process, how long, and on which days between which hours; ``need`` carries what else is wished.

    ``asked`` is the need after cleaning.
    """

    need = forms.CharField(required=False, max_length=MOST_SIGNS, widget=forms.HiddenInput())
    kind = forms.ChoiceField(label=_("What do you need?"))
    process = forms.ChoiceField(label=_("What will you print?"))
    length = forms.TypedChoiceField(label=_("For how long?"), coerce=int)
    first_day = forms.DateField(label=_("From which day?"), widget=DateInput())
    last_day = forms.DateField(label=_("Until which day?"), widget=DateInput())
    not_before = forms.TimeField(
        label=_("Not before what time?"), required=False, widget=TimeInput(), input_formats=TIMES_WRITTEN
    )
    not_after = forms.TimeField(
        label=_("Over by what time?"), required=False, widget=TimeInput(), input_formats=TIMES_WRITTEN
    )
    whom = forms.CharField(
        label=_("For whom?"), required=False, max_length=30, help_text=_("The member's number; empty: for yourself.")
    )

    def __init__(
        self,
        data: Mapping[str, str] | None = None,
        *,
        stations: Sequence[Station],
        processes: Sequence[Process],
        grid: timedelta,
        today: date,
        by: Member,
        need: Need | None = None,
    ) -> None:
        self.carried = need or need_of_text((data or {}).get("need", ""))
        super().__init__(data, initial=self._initial(self.carried, stations, today))
        self.stations, self.today, self.by = stations, today, by
        kinds = dict.fromkeys(station.kind for station in stations)
        self.fields["kind"].choices = [(kind, kind[:1].upper() + kind[1:]) for kind in kinds]
        self.fields["process"].choices = process_choices(processes)
        lengths = length_choices(grid)
        if self.carried.length not in dict(lengths) and not self.carried.stay % grid:
            lengths = sorted([*lengths, (self.carried.length, length_words(self.carried.stay))])
        self.fields["length"].choices = lengths
        if not by.may_run_the_house:
            del self.fields["whom"]

    @staticmethod
    def _initial(need: Need, stations: Sequence[Station], today: date) -> dict[str, Any]:
        first = max(need.first_day or today, today)
        fitting = (one for one in stations if need.process in {process.code for process in one.processes.all()})
        kind = need.kind or next((one.kind for one in fitting), None) or next((one.kind for one in stations), "")
        does = [process.code for one in stations if one.kind == kind for process in one.processes.all()]
        return {
            "need": text_of_need(need),
            "kind": kind,
            "process": need.process or next(iter(does), NOTHING),
            "length": need.length,
            "first_day": first,
            "last_day": max(need.last_day or first, first),
            "not_before": _time(need.not_before),
            "not_after": _time(need.not_after),
        }

    def clean_first_day(self) -> date:
        return near_enough(self.cleaned_data["first_day"], self.today)

    def clean_last_day(self) -> date:
        return near_enough(self.cleaned_data["last_day"], self.today)

    def clean_whom(self) -> Member | None:
        number: str = self.cleaned_data["whom"].strip()
        if not number:
            return None
        found = people().filter(number__iexact=number).first()
        if found is None:
            raise forms.ValidationError(_("Nobody here has this number."))
        return found

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        of_kind = [station for station in self.stations if station.kind == data.get("kind")]
        if data.get("process") and not any(station.processes.all() for station in of_kind):
            data["process"] = NOTHING  # nobody prints at a scanner, whatever the list says
        elif data.get("process") == NOTHING and all(station.processes.all() for station in of_kind):
            self.add_error("process", _("Say what you will print: these are booked with a place at a processor."))
        return data

    @property
    def for_member(self) -> Member:
        return self.cleaned_data.get("whom") or self.by

    @property
    def asked(self) -> Need:
        data = self.cleaned_data
        return replace(
            self.carried,
            kind=data["kind"],
            process="" if data["process"] == NOTHING else data["process"],
            length=data["length"],
            first_day=data["first_day"],
            last_day=data["last_day"],
            not_before=_minutes(data["not_before"]),
            not_after=_minutes(data["not_after"]),
        )


#: On which field of the form a refusal is shown; the others stand above it.
FIELD_OF_WISH = {
    "bookings.wish_past": "last_day",
    "bookings.wish_days_turned": "last_day",
    "bookings.wish_too_far": "last_day",
    "bookings.wish_without_room": "not_after",
    "bookings.wish_fits_nothing": "kind",
    "bookings.off_grid": "length",
    "bookings.too_short": "length",
    "bookings.too_long": "length",
}
