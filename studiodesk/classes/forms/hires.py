"""Forms of groups that hire: who they are, when, what is kept for them, what it costs."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk.house_forms import HouseForm
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Process, Studio

from ..models import Hire
from ..queries.courses import Need
from ..queries.hires import ALL, NEEDED, Wanted, needs_of, wanted_of
from ..rules.dates import MOST_DATES, every_weeks
from ..rules.hires import Group
from .dates import DAY, TIME
from .outlines import MOST_MINOR
from .paper import PAPER_ROWS, add_paper, papers_of

SORTS = [
    ("hire", _("A group that is in the house")),
    ("room kept", _("A room kept, such as for an exhibition")),
]
WHO = (
    "organisation",
    "contact_name",
    "contact_email",
    "contact_phone",
    "heads",
    "supervisors",
    "heads_a_supervisor",
)


class GroupForm(HouseForm):
    """Who comes, who answers for them, and what is kept: one choice for each kind of station and each process."""

    organisation = forms.CharField(label=_("School, club or company"), max_length=120)
    contact_name = forms.CharField(
        label=_("Who answers for them"), max_length=120, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )
    contact_email = forms.EmailField(
        label=_("Their e-mail address"),
        max_length=254,
        help_text=_("What is kept, the quote and every change are written to it."),
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )
    contact_phone = forms.CharField(
        label=_("Their telephone"),
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"type": "tel", "autocomplete": "off"}),
    )
    heads = forms.IntegerField(label=_("How many people come"), min_value=1, max_value=500)
    supervisors = forms.IntegerField(
        label=_("How many come to look after them"),
        min_value=0,
        max_value=200,
        initial=0,
        help_text=_("Beside the people above. They, and one of the house, count among the people in the house."),
    )
    heads_a_supervisor = forms.IntegerField(
        label=_("One has to look after so many at most"),
        min_value=1,
        max_value=100,
        required=False,
        help_text=_("As the law or the school says it, such as 8. Empty: nobody has to."),
    )
    whole_house = forms.BooleanField(
        label=_("The whole house: every station and every processor"),
        required=False,
        help_text=_("Then it does not count which of them are chosen below."),
    )

    def __init__(self, *args: Any, process: Process | None = None, hire: Hire | None = None, **kwargs: Any) -> None:
        super().__init__(*args, initial=self._as_it_is(hire) if hire else None, **kwargs)
        self.process = process
        self.kinds = dict(enumerate(stations.kinds(), 1))
        self.processes = {one.pk: one for one in Process.objects.filter(processors__isnull=False).distinct()}
        kinds, processes = wanted_of(hire) if hire is not None else ({}, {})
        fields: Any = self.fields
        for row, kind in self.kinds.items():
            many = len(stations.stations_of_kind(kind))
            every = _("All of them: %(number)s") % {"number": many}
            fields[f"kind_{row}"] = _choice(
                kind.capitalize(), _("As many as the people need"), every, many, kinds.get(kind)
            )
        for key, one in self.processes.items():
            machines = stations.processors_of(one)
            every = ", ".join(machine.name for machine in machines)
            fields[f"places_{key}"] = _choice(
                _("Processor for %(process)s") % {"process": one.name},
                _("A place for each station they need"),
                _("The whole of it: %(names)s") % {"names": every},
                max(machine.booths_at_once for machine in machines),
                processes.get(one),
            )

    @staticmethod
    def _as_it_is(hire: Hire) -> dict[str, Any]:
        return {name: getattr(hire, name) for name in WHO}

    @property
    def group(self) -> Group:
        found = self.cleaned_data
        return Group(**{name: found[name] for name in WHO})

    @property
    def needs(self) -> list[Need]:
        """What is to be kept; empty if nothing was chosen."""
        found = self.cleaned_data
        kinds = {kind: self._wanted(f"kind_{row}") for row, kind in self.kinds.items()}
        processes = {one: self._wanted(f"places_{key}") for key, one in self.processes.items()}
        if found["whole_house"]:
            kinds, processes = dict.fromkeys(kinds, ALL), dict.fromkeys(processes, ALL)
        return needs_of(
            {kind: wanted for kind, wanted in kinds.items() if wanted is not None},
            {one: wanted for one, wanted in processes.items() if wanted is not None},
            found.get("process", self.process),
        )

    def _wanted(self, name: str) -> Wanted | None:
        chosen: str = self.cleaned_data[name]
        return (chosen if chosen in {ALL, NEEDED} else int(chosen)) if chosen else None

    def sections(self) -> list[tuple[Any, list[Any]]]:
        """The fields under their headings, in the order in which somebody is asked on the telephone."""
        kept = ["whole_house", "process", "heads_a_station"]
        kept += [f"kind_{row}" for row in self.kinds] + [f"places_{key}" for key in self.processes]
        parts: list[tuple[Any, list[str]]] = [
            (_("Who they are"), ["organisation", "title", "sort", *WHO[1:4]]),
            (_("When"), ["first_day", "begins", "ends", "last_day", "every", "times", "before", "after"]),
            (_("How many"), list(WHO[4:])),
            (_("What is kept for them"), kept),
            (_("Paper they use"), [f"{part}_{row}" for row in PAPER_ROWS for part in ("paper", "sheets")]),
        ]
        shown = [(heading, [self[name] for name in names if name in self.fields]) for heading, names in parts]
        return [(heading, fields) for heading, fields in shown if fields]


def _choice(label: Any, needed: Any, every: Any, most: int, now: Wanted | None) -> forms.ChoiceField:
    one_by_one = sorted({*range(1, most), *([now] if isinstance(now, int) else [])})
    numbers = [(str(number), str(number)) for number in one_by_one]
    choices = [("", _("None")), (NEEDED, needed), (ALL, every), *numbers]
    return forms.ChoiceField(label=label, choices=choices, required=False, initial="" if now is None else str(now))


class HireForm(GroupForm):
    """A new one, with its times: one or several dates, or one long stretch from the first day to the last."""

    title = forms.CharField(
        label=_("What it is called in the plan"),
        max_length=120,
        required=False,
        help_text=_("Empty: as the school, club or company. Members do not read it."),
    )
    sort = forms.ChoiceField(label=_("What it is"), choices=SORTS)
    first_day = forms.DateField(label=_("First day"), widget=forms.DateInput(attrs=DAY, format="%Y-%m-%d"))
    begins = forms.TimeField(label=_("From"), widget=forms.TimeInput(attrs=TIME, format="%H:%M"))
    ends = forms.TimeField(label=_("Until"), widget=forms.TimeInput(attrs=TIME, format="%H:%M"))
    last_day = forms.DateField(
        label=_("Last day, if it is kept by day and by night"),
        required=False,
        widget=forms.DateInput(attrs=DAY, format="%Y-%m-%d"),
        help_text=_("For a weekend, or the weeks of an exhibition. Empty: each date ends on its own day."),
    )
    every = forms.IntegerField(label=_("Every so many weeks"), min_value=1, max_value=52, initial=1)
    times = forms.IntegerField(label=_("How often"), min_value=1, max_value=MOST_DATES, initial=1)
    before = forms.IntegerField(label=_("Minutes before it to prepare"), min_value=0, max_value=720, initial=30)
    after = forms.IntegerField(label=_("Minutes after it to clear up"), min_value=0, max_value=720, initial=30)
    process = forms.ModelChoiceField(
        label=_("What they do"),
        queryset=Process.objects.none(),
        required=False,
        empty_label=_("None of the processes"),
        help_text=_("A room whose light is shared is then kept in the light that it needs."),
    )
    heads_a_station = forms.IntegerField(label=_("People at one station"), min_value=1, max_value=50, initial=2)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: Any = self.fields
        fields["process"].queryset = Process.objects.order_by("pk")
        fields["sort"].initial = SORTS[0][0]
        add_paper(self)

    def clean(self) -> dict[str, Any]:
        found = self.cleaned_data
        first, last = found.get("first_day"), found.get("last_day")
        begins, ends = found.get("begins"), found.get("ends")
        if first and last and last < first:
            self.add_error("last_day", _("Last day: no earlier than the first."))
        elif begins and ends and ends <= begins and (last is None or last == first):
            self.add_error("ends", _("Until: later than it begins; past midnight takes a last day."))
        self.papers = papers_of(self)
        return found

    @property
    def nights(self) -> int:
        found = self.cleaned_data
        return ((found["last_day"] or found["first_day"]) - found["first_day"]).days

    def days(self) -> list[date]:
        """The first day of each date; the last day that there is where the calendar ends before them."""
        found = self.cleaned_data
        try:
            return every_weeks(found["first_day"], found["every"], found["times"])
        except OverflowError:
            return [date.max]


class QuoteForm(HouseForm):
    terms = forms.CharField(
        label=_("On what terms"),
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text=_("What is in it, until when it is paid, what calling it off costs."),
    )
    field_order = ("amount", "terms")

    def __init__(self, *args: Any, studio: Studio, hire: Hire, **kwargs: Any) -> None:
        digits = studio.currency_digits
        self.smallest = Decimal(10) ** digits
        quoted = hire.quote_minor
        initial = {"amount": None if quoted is None else Decimal(quoted) / self.smallest, "terms": hire.quote_terms}
        super().__init__(*args, initial=initial, **kwargs)
        self.fields["amount"] = forms.DecimalField(
            label=_("The whole of it (%(currency)s)") % {"currency": studio.currency},
            min_value=0,
            max_value=int(MOST_MINOR / self.smallest),
            decimal_places=digits,
        )
        self.order_fields(self.field_order)

    @property
    def amount_minor(self) -> int:
        return int(self.cleaned_data["amount"] * self.smallest)
