"""What somebody wants to make, as a request."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, time, timedelta
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.http import QueryDict
from django.utils.dates import WEEKDAYS
from django.utils.translation import gettext_lazy as _

from studiodesk.house_forms import HouseForm
from studiodesk.stations.models import KitItem, Process, Station

from ..rules.formats import edges_mm, same_format, smallest_first
from ..rules.needs import Need
from .inputs import TIMES_WRITTEN, DateInput, TimeInput, length_choices, near_enough
from .kit import kit_field, kit_name

#: The negative that stands for any large one.
LARGE = "large"
MOST_PRINT_MM = 3000


def minutes_of(wall: time | None) -> int | None:
    return None if wall is None else wall.hour * 60 + wall.minute


class NeedForm(HouseForm):
    """The questions; ``need`` is the answer once they are valid.

    ``processes`` and ``kinds``: what can be made, and the kinds of station that are booked without a process.
    """

    make = forms.ChoiceField(label=_("What is it?"), error_messages={"required": _("Say what you want to make.")})
    negative = forms.ChoiceField(label=_("Negative"), required=False)
    largest = forms.CharField(
        label=_("Largest print"),
        required=False,
        max_length=30,
        help_text=_("Such as 24×30 cm or 8×10 in; empty: any size."),
    )
    length = forms.TypedChoiceField(label=_("For how long?"), coerce=int)
    day = forms.DateField(label=_("From which day?"), widget=DateInput())
    until_day = forms.DateField(label=_("Until which day?"), widget=DateInput(), required=False)
    weekdays = forms.TypedMultipleChoiceField(
        label=_("Days that suit"),
        required=False,
        coerce=int,
        choices=[(number, WEEKDAYS[number]) for number in range(7)],
        widget=forms.CheckboxSelectMultiple(attrs={"class": "row"}),
        help_text=_("None ticked: any day."),
    )
    after = forms.TimeField(
        label=_("Not before what time?"), required=False, widget=TimeInput(), input_formats=TIMES_WRITTEN
    )
    before = forms.TimeField(
        label=_("Over by what time?"), required=False, widget=TimeInput(), input_formats=TIMES_WRITTEN
    )
    light_source = forms.ChoiceField(label=_("Light source"), required=False)
    colour_filters = forms.BooleanField(label=_("With colour filters"), required=False)
    step_free = forms.BooleanField(label=_("Without steps on the way"), required=False)
    bench_from = forms.IntegerField(label=_("Bench at least so high (cm)"), required=False, min_value=1, max_value=200)
    bench_to = forms.IntegerField(label=_("Bench at most so high (cm)"), required=False, min_value=1, max_value=200)
    beside = forms.BooleanField(
        label=_("Beside a friend"),
        required=False,
        help_text=_("Only times at which a second station of the kind is free; you get a link to send."),
    )
    usual = forms.BooleanField(required=False, widget=forms.HiddenInput())

    #: What an empty answer means stands in the list or beside the field, so these are not marked as optional.
    SAYS_EMPTY = ("negative", "largest", "weekdays", "light_source")
    MORE = ("until_day", "weekdays", "before", "light_source", "colour_filters", "step_free", "bench_from", "bench_to")

    def __init__(
        self,
        *args: Any,
        stations: Sequence[Station],
        processes: Sequence[Process],
        kinds: Sequence[str],
        kit: Iterable[KitItem],
        grid: timedelta,
        today: date,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        self.kit = [item for item in kit if item.pieces]
        self.fields["make"].choices = _makes(processes, kinds)
        self.fields["length"].choices = length_choices(grid)
        formats = smallest_first([str(one) for station in stations for one in station.formats])
        self.fields["negative"].choices = [
            ("", _("Any, or none")),
            *((one, one) for one in formats),
            (LARGE, _("Any large format")),
        ]
        lights = list(dict.fromkeys(station.light_source for station in stations if station.light_source))
        self.fields["light_source"].choices = [("", _("Any")), *((one, one[:1].upper() + one[1:]) for one in lights)]
        for name, there in (
            ("light_source", bool(lights)),
            ("negative", bool(formats)),
            ("colour_filters", any(station.has_colour_filters for station in stations)),
            ("bench_from", any(station.bench_height_mm for station in stations)),
            ("bench_to", any(station.bench_height_mm for station in stations)),
        ):
            if not there:
                del self.fields[name]
        for item in self.kit:
            self.fields[kit_name(item)] = kit_field(item)
        for name in self.SAYS_EMPTY:
            if name in self.fields:
                self.fields[name].says_empty = True

    @property
    def more(self) -> list[Any]:
        """The fields of the second part: wishes that few people have."""
        return [self[name] for name in (*self.MORE, "beside") if name in self.fields]

    @property
    def lent(self) -> list[Any]:
        """The fields of what the house lends."""
        return [self[kit_name(item)] for item in self.kit]

    @property
    def lent_is_asked(self) -> bool:
        return any(field.errors or field.data for field in self.lent)

    @property
    def more_is_asked(self) -> bool:
        """Something of the second part was answered, or answered wrongly."""
        return any(field.errors or field.data for field in (*self.more, *self.lent))

    def clean_day(self) -> date:
        return near_enough(self.cleaned_data["day"], self.today)

    def clean_until_day(self) -> date | None:
        day: date | None = self.cleaned_data["until_day"]
        return None if day is None else near_enough(day, self.today)

    def clean_largest(self) -> tuple[int, int] | None:
        written: str = self.cleaned_data["largest"].strip()
        if not written:
            return None
        edges = edges_mm(written)
        if edges is None or edges[1] > MOST_PRINT_MM:
            raise forms.ValidationError(_("Largest print: write two edges, such as 24×30 cm or 8×10 in."))
        return edges

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("day") and data.get("until_day") and data["until_day"] < data["day"]:
            self.add_error("until_day", _("The last day has to come after the first."))
        if data.get("bench_from") and data.get("bench_to") and data["bench_to"] < data["bench_from"]:
            self.add_error("bench_to", _("The greatest height has to be more than the least."))
        after, before = minutes_of(data.get("after")), minutes_of(data.get("before"))
        if before is not None and data.get("length") and not self.errors.get("length"):
            room = (before - (after or 0)) % 1440 or 1440
            if room < data["length"]:
                self.add_error("before", _("Between these times there is less room than the length you ask for."))
        return data

    @property
    def need(self) -> Need:
        data = self.cleaned_data
        sort, _colon, what = data["make"].partition(":")
        negative = data.get("negative", "")
        heights = data.get("bench_from"), data.get("bench_to")
        return Need(
            process=what if sort == "process" else "",
            kind=what if sort == "kind" else "",
            negative="" if negative == LARGE else negative,
            large_format=negative == LARGE,
            print_mm=data.get("largest"),
            light_source=data.get("light_source", ""),
            colour_filters=data.get("colour_filters", False),
            step_free=data["step_free"],
            beside=data["beside"],
            bench_mm=((heights[0] or 1) * 10, (heights[1] or 200) * 10) if any(heights) else None,
            length=data["length"],
            weekdays=tuple(sorted(data["weekdays"])),
            first_day=data["day"],
            last_day=data["until_day"],
            not_before=minutes_of(data["after"]),
            not_after=minutes_of(data["before"]),
            kit=tuple((item.code, data[kit_name(item)]) for item in self.kit if data.get(kit_name(item))),
        )


def _makes(processes: Sequence[Process], kinds: Sequence[str]) -> list[Any]:
    prints = [(f"process:{process.code}", process.name) for process in processes]
    others = [(f"kind:{kind}", kind[:1].upper() + kind[1:]) for kind in kinds]
    groups = [(_("Prints"), prints), (_("Something else"), others)]
    return [group for group in groups if group[1]]


def _clock(minutes: int | None) -> str:
    return "" if minutes is None else f"{minutes % 1440 // 60:02d}:{minutes % 60:02d}"


def need_fields(need: Need, kit: Iterable[KitItem], formats: Sequence[str] = ()) -> dict[str, Any]:
    """The fields of ``NeedForm`` that stand for this need; days that have gone by are left to the form."""
    by_code = {item.code: item for item in kit}
    fields: dict[str, Any] = {
        "make": f"process:{need.process}" if need.process else f"kind:{need.kind}",
        "negative": LARGE if need.large_format else need.negative,
        "largest": "{} × {} mm".format(*need.print_mm) if need.print_mm else "",
        "length": need.length,
        "day": need.first_day.isoformat() if need.first_day else "",
        "until_day": need.last_day.isoformat() if need.last_day else "",
        "weekdays": list(need.weekdays),
        "after": _clock(need.not_before),
        "before": _clock(need.not_after),
        "light_source": need.light_source,
        "colour_filters": "on" if need.colour_filters else "",
        "step_free": "on" if need.step_free else "",
        "beside": "on" if need.beside else "",
        "bench_from": need.bench_mm[0] // 10 if need.bench_mm else "",
        "bench_to": need.bench_mm[1] // 10 if need.bench_mm else "",
    }
    fields |= {kit_name(by_code[code]): pieces for code, pieces in need.kit if code in by_code}
    # The house may write the same format otherwise by now.
    fields["negative"] = next((one for one in formats if same_format(one, fields["negative"])), fields["negative"])
    return {name: value for name, value in fields.items() if value not in ("", [])}


def need_query(need: Need, kit: Iterable[KitItem], today: date) -> str:
    fields = need_fields(need, kit)
    if need.first_day is None or need.first_day < today:
        fields["day"] = today.isoformat()
    return urlencode(fields, doseq=True)


def asked_of(query: QueryDict, kinds: Sequence[str]) -> QueryDict:
    """The request with what older links ask, a kind and a process, as the form's one question.

    ``kinds``: those that are booked without a process, whatever the link says.
    """
    if "make" in query or "kind" not in query:
        return query
    asked, kind, process = query.copy(), query["kind"], query.get("process", "")
    asked["make"] = f"kind:{kind}" if kind in kinds or process in ("", "-") else f"process:{process}"
    return asked
