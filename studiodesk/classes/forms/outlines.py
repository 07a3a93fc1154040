"""The form of an outline: a tutor who has never seen it fills it in from top to bottom."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk.house_forms import HouseForm
from studiodesk.safety.models import SignOffNeed
from studiodesk.stations import queries as stations
from studiodesk.stations.models import Process, Studio

from ..models import Outline
from .paper import PAPER_ROWS, add_paper, papers_of

SORTS = [
    ("class", _("Class or workshop")),
    ("talk", _("Talk")),
    ("open evening", _("Open evening or club night: just come")),
    ("room kept", _("A room kept, such as for an exhibition")),
]
LEVELS = [
    ("no experience", _("No experience needed")),
    ("some experience", _("Some experience")),
    ("experienced", _("For experienced people")),
]
#: The largest sum that a column of money takes on every database: 31 bits.
MOST_MINOR = 2**31 - 1
MOST_PEOPLE = 500
PLACES = [
    ("", _("None")),
    ("each", _("A place for each station")),
    ("all", _("The whole processor, for this class alone")),
]
NOBODY_SIGNS_UP = {"open evening", "room kept"}
#: Half a year: longer is several dates, one after the other.
LONGEST_MINUTES = 183 * 24 * 60
#: How many kinds of station the form has rows for.
KIND_ROWS = (1, 2, 3)


class NeedChoice(forms.ModelMultipleChoiceField):
    def label_from_instance(self, obj: Any) -> str:
        return str(obj.kind or obj.process.name)


class OutlineForm(HouseForm):
    name = forms.CharField(label=_("What it is called"), max_length=120)
    sort = forms.ChoiceField(label=_("What it is"), choices=SORTS)
    summary = forms.CharField(
        label=_("What is taught"),
        required=False,
        widget=forms.Textarea(attrs={"rows": 5}),
        help_text=_("As everybody reads it on the page of what is on."),
    )
    level = forms.ChoiceField(label=_("For whom"), choices=LEVELS)
    minimum_age = forms.IntegerField(label=_("Youngest age"), min_value=1, max_value=99, required=False)
    meetings = forms.IntegerField(
        label=_("How many dates it takes"),
        min_value=1,
        max_value=20,
        initial=1,
        help_text=_("Two for a course of two evenings; people sign up for all of them."),
    )
    length = forms.IntegerField(
        label=_("Length of each, in minutes"),
        min_value=15,
        max_value=LONGEST_MINUTES,
        initial=180,
        help_text=_("At most half a year, for a room that is kept."),
    )
    before = forms.IntegerField(label=_("Minutes before it to prepare"), min_value=0, max_value=720, initial=30)
    after = forms.IntegerField(label=_("Minutes after it to clear up"), min_value=0, max_value=720, initial=30)
    heads_most = forms.IntegerField(label=_("At most so many people"), min_value=1, max_value=MOST_PEOPLE, initial=8)
    heads_least = forms.IntegerField(label=_("At least so many people"), min_value=1, max_value=MOST_PEOPLE, initial=3)
    heads_a_station = forms.IntegerField(label=_("People at one station"), min_value=1, max_value=20, initial=2)
    process = forms.ModelChoiceField(
        label=_("Process"), queryset=Process.objects.none(), required=False, empty_label=_("None")
    )
    places = forms.ChoiceField(label=_("Places at its processor"), choices=PLACES, required=False)
    materials = forms.CharField(
        label=_("What the house lays out"), required=False, widget=forms.Textarea(attrs={"rows": 3})
    )
    bring = forms.CharField(label=_("What people bring"), required=False, widget=forms.Textarea(attrs={"rows": 2}))
    # Placeholders: how many decimals there are, and the most, is the currency's.
    price = forms.DecimalField()
    member_price = forms.DecimalField()
    free_cancel_days = forms.IntegerField(
        label=_("A place can be given back for nothing until so many days before"), min_value=0, max_value=90, initial=7
    )
    decide_days = forms.IntegerField(
        label=_("Decided so many days before whether it takes place"),
        min_value=0,
        max_value=90,
        required=False,
        help_text=_("With too few people it is called off by itself then, and everybody is told. Empty: staff decide."),
    )
    tutor_needs = NeedChoice(
        label=_("Whoever teaches is signed off for"),
        queryset=SignOffNeed.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    signs_off = NeedChoice(
        label=_("It signs people off for"),
        queryset=SignOffNeed.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, *args: Any, studio: Studio, outline: Outline | None = None, **kwargs: Any) -> None:
        self.studio, self.outline = studio, outline
        super().__init__(*args, initial=self._as_it_is(outline) if outline else None, **kwargs)
        fields: Any = self.fields
        fields["process"].queryset = Process.objects.order_by("pk")
        signed = SignOffNeed.objects.select_related("process").order_by("pk")
        for name in ("tutor_needs", "signs_off"):
            fields[name].queryset = signed
            if not signed:
                del fields[name]
        fields["price"] = self._price(_("Price"), initial=0)
        fields["member_price"] = self._price(_("Price for members"), required=False, help_text=_("Empty: the same."))
        kinds = [("", _("None")), *((kind, kind.capitalize()) for kind in stations.kinds())]
        for row in KIND_ROWS:
            fields[f"kind_{row}"] = forms.ChoiceField(
                label=_("Stations, kind %(row)s") % {"row": row}, choices=kinds, required=False
            )
            fields[f"number_{row}"] = forms.IntegerField(
                label=_("How many of kind %(row)s") % {"row": row},
                min_value=1,
                max_value=200,
                required=False,
                help_text=_("Empty: as many as the people need."),
            )
        add_paper(self)

    def _price(self, label: Any, **more: Any) -> forms.DecimalField:
        """Whole minor units, and so little that the price of every head of a class can be kept."""
        digits = self.studio.currency_digits
        return forms.DecimalField(
            label=f"{label} ({self.studio.currency})",
            min_value=0,
            max_value=Decimal(MOST_MINOR // MOST_PEOPLE).scaleb(-digits),
            decimal_places=digits,
            **more,
        )

    def sections(self) -> list[tuple[Any, list[Any]]]:
        """The fields in the order in which somebody thinks of them, each part under its heading."""
        return [(heading, [self[name] for name in names if name in self.fields]) for heading, names in SECTIONS]

    def _as_it_is(self, row: Outline) -> dict[str, Any]:
        digits = Decimal(10) ** self.studio.currency_digits
        own = row.member_price_minor
        initial = {
            **{name: getattr(row, name) for name in PLAIN},
            "length": row.length_minutes,
            "before": row.before_minutes,
            "after": row.after_minutes,
            "price": Decimal(row.price_minor) / digits,
            "member_price": None if own is None else Decimal(own) / digits,
            "process": row.process_id,
            "tutor_needs": list(row.tutor_needs.values_list("pk", flat=True)),
            "signs_off": list(row.signs_off.values_list("pk", flat=True)),
        }
        for number, need in zip(KIND_ROWS, [need for need in row.needs.all() if need.kind], strict=False):
            initial |= {f"kind_{number}": need.kind, f"number_{number}": need.number}
        for need in row.needs.all():
            if not need.kind:
                initial["places"] = "all" if need.number == 0 else "each"
        for number, paper in zip(PAPER_ROWS, row.papers.all(), strict=False):
            size = f"{paper.width_mm} x {paper.height_mm}"
            initial |= {f"paper_{number}": size, f"sheets_{number}": paper.sheets_a_head}
        return initial

    def clean(self) -> dict[str, Any]:
        found = self.cleaned_data
        least, most = found.get("heads_least"), found.get("heads_most")
        if least and most and least > most:
            self.add_error("heads_least", _("At least so many people: no more than at most."))
        if found.get("places") and not found.get("process"):
            self.add_error("process", _("Process: say which, so that it is known at which processor."))
        price, own = found.get("price"), found.get("member_price")
        if price is not None and own is not None and own > price:
            self.add_error("member_price", _("Price for members: no more than the price."))
        if found.get("decide_days") is not None and found.get("sort") in NOBODY_SIGNS_UP:
            words = _("Decided so many days before: nobody signs up for this, so leave it empty.")
            self.add_error("decide_days", words)
        self.papers = papers_of(self)
        return found

    @property
    def says(self) -> dict[str, Any]:
        """What ``write_outline`` takes as ``says``."""
        found, digits = self.cleaned_data, Decimal(10) ** self.studio.currency_digits
        own = found["member_price"]
        return {
            **{name: found[name] for name in PLAIN},
            "length_minutes": found["length"],
            "before_minutes": found["before"],
            "after_minutes": found["after"],
            "price_minor": int(found["price"] * digits),
            "member_price_minor": None if own is None else int(own * digits),
            "process": found["process"],
        }

    @property
    def needs(self) -> list[tuple[str, Process | None, int | None]]:
        """Kinds of station, and places at the processor of the process."""
        found, process = self.cleaned_data, self.cleaned_data["process"]
        kinds = [(found[f"kind_{row}"], None, found[f"number_{row}"]) for row in KIND_ROWS if found[f"kind_{row}"]]
        places = {"each": [("", process, None)], "all": [("", process, 0)]}.get(found["places"], [])
        return [*kinds, *places]


SECTIONS: list[tuple[Any, list[str]]] = [
    (_("What it is"), ["name", "sort", "summary", "level", "minimum_age", "bring"]),
    (_("How long it takes"), ["meetings", "length", "before", "after"]),
    (_("How many people"), ["heads_most", "heads_least", "heads_a_station"]),
    (
        _("What is kept for it"),
        [*(f"{part}_{row}" for row in KIND_ROWS for part in ("kind", "number")), "process", "places", "materials"],
    ),
    (_("Paper it uses"), [f"{part}_{row}" for row in PAPER_ROWS for part in ("paper", "sheets")]),
    (_("Terms"), ["price", "member_price", "free_cancel_days", "decide_days"]),
    (_("Sign-offs"), ["tutor_needs", "signs_off"]),
]
#: Fields that are named as the outline's columns are.
PLAIN = (
    "name",
    "sort",
    "summary",
    "level",
    "meetings",
    "heads_least",
    "heads_most",
    "heads_a_station",
    "minimum_age",
    "free_cancel_days",
    "decide_days",
    "materials",
    "bring",
)
