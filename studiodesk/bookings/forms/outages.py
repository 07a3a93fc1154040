"""What is to be out of service and when; what does not work."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from studiodesk.house_forms import HouseForm
from studiodesk.stations import queries as stations
from studiodesk.stations.models import KitItem, Processor, Service, Station
from studiodesk.timekeeping import Span, localise
from studiodesk.timekeeping.days import MissingTime

from .. import queries
from ..rules import faults
from ..words.outages import KINDS

Thing = Station | Processor | KitItem
SORTS = {"station": _("Stations"), "processor": _("Processors"), "kit": _("Kit")}

#: A longer closure is more often a slip of the month than a wish.
ASK_BEYOND = timedelta(days=30)


def thing_choices() -> list[tuple[Any, list[tuple[str, str]]]]:
    """Everything that can be out of service, in groups."""
    return [
        (SORTS[sort], [(queries.thing_key(one), one.name) for one in many])
        for sort, many in queries.all_things()
        if many
    ]


def named(key: str) -> Thing:
    """What a key names; ``ValidationError`` if there is no such thing."""
    found = queries.thing_named(key)
    if found is None:
        raise ValidationError(_("Choose one of the list."))
    return found


def _day(label: Any) -> forms.DateField:
    return forms.DateField(label=label, widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))


def _time(label: Any) -> forms.TimeField:
    return forms.TimeField(label=label, widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))


class CloseForm(HouseForm):
    """Things, or a service and with it all that needs it; from when until when; why."""

    service = forms.ChoiceField(
        label=_("A service that is off"),
        required=False,
        help_text=_("Everything that needs it is out of service with it, and nothing else."),
    )
    things = forms.MultipleChoiceField(
        label=_("What is out of service"), required=False, widget=forms.CheckboxSelectMultiple
    )
    first_day = _day(_("From, day"))
    first_time = _time(_("From, time"))
    last_day = _day(_("Until, day"))
    last_time = _time(_("Until, time"))
    mean_it = forms.BooleanField(required=False, label=_("Yes, for all of that time"))
    reason = forms.CharField(
        label=_("Why"),
        max_length=200,
        help_text=_("One line for everybody who booked it, and whoever wonders. No names of people."),
    )

    def __init__(self, *args: Any, zone: ZoneInfo, now: datetime, **kwargs: Any) -> None:
        today = now.astimezone(zone).date()
        kwargs["initial"] = {"first_day": today, "last_day": today} | (kwargs.get("initial") or {})
        super().__init__(*args, **kwargs)
        self.zone = zone
        self.long = False
        self.services = {str(one.pk): one for one in stations.services()}
        self.fields["things"].choices = thing_choices()  # type: ignore[attr-defined]
        if self.services:
            choices = [("", _("None")), *((key, one.name) for key, one in self.services.items())]
            self.fields["service"].choices = choices  # type: ignore[attr-defined]
        else:
            del self.fields["service"]

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
        self._clean_times()
        if "things" not in self.errors:
            chosen, service = self.cleaned_data.get("things"), self.chosen_service
            if service is not None and chosen:
                self.add_error("things", _("Choose things or a service, not both: the service brings its own."))
            elif service is None and not chosen:
                self.add_error("things", _("Choose what is to be out of service."))
        return self.cleaned_data

    def _clean_times(self) -> None:
        starts, ends = self._moment("first"), self._moment("last")
        if starts is None or ends is None:
            return
        if ends <= starts:
            self.add_error("last_time", _("The end has to come after the beginning."))
        elif (ends - starts).days > 366:
            self.add_error("last_day", _("At most a year at once."))
        elif ends - starts > ASK_BEYOND:
            self.long = True
            if not self.cleaned_data.get("mean_it"):
                days = (ends - starts).days
                self.add_error("mean_it", gettext("That is %(days)d days. Tick this if it is so.") % {"days": days})
        self.cleaned_data["starts"], self.cleaned_data["ends"] = starts, ends

    @property
    def chosen_service(self) -> Service | None:
        return self.services.get(self.cleaned_data.get("service") or "")

    def chosen(self) -> list[Thing]:
        """What is to be out of service, whichever way it was said."""
        if self.chosen_service is not None:
            return list(queries.needing(self.chosen_service))
        return [named(key) for key in self.cleaned_data["things"]]

    def span(self) -> Span:
        return Span(self.cleaned_data["starts"], self.cleaned_data["ends"])


class ReopenForm(HouseForm):
    """Times in whole seconds since 1970, UTC."""

    thing = forms.CharField(max_length=40)
    starts = forms.IntegerField(min_value=0, max_value=99_999_999_999)
    ends = forms.IntegerField(min_value=1, max_value=99_999_999_999)
    outage = forms.IntegerField(required=False, min_value=1, max_value=999_999_999)

    def clean_thing(self) -> Thing:
        return named(self.cleaned_data["thing"])

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if data.get("starts") is not None and data.get("ends") is not None and data["ends"] <= data["starts"]:
            self.add_error("ends", _("The end has to come after the beginning."))
        return data

    def span(self) -> Span:
        starts, ends = (datetime.fromtimestamp(self.cleaned_data[name], UTC) for name in ("starts", "ends"))
        return Span(starts, ends)


class FaultForm(HouseForm):
    """Which thing, and what is wrong: one of the usual faults by its button, a few words if somebody has them."""

    thing = forms.ChoiceField(label=_("What does not work"))
    more = forms.CharField(
        label=_("A few words"), max_length=150, required=False, help_text=_("Only if you like. No names of people.")
    )
    kind = forms.ChoiceField(
        label=_("What is wrong"), choices=[(kind, KINDS[kind]) for kind in faults.KINDS], required=False
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["thing"].choices = [("", _("Choose")), *thing_choices()]  # type: ignore[attr-defined]

    def clean_thing(self) -> Thing:
        return named(self.cleaned_data["thing"])

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if not data.get("kind"):
            data["kind"] = "other"
            if not data.get("more") and "more" not in self.errors:
                self.add_error("more", _("Say in a few words what is wrong, or press one of the faults."))
        return data
