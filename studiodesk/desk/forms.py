"""Turns requests of the desk into values."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk import manner
from studiodesk.bookings.rules.door import MOST_HEADS
from studiodesk.chemistry.forms import COUNT_WRONG, TABLET_KINDS, ChemistryForm
from studiodesk.chemistry.models import SheetSize
from studiodesk.chemistry.rules.feeding import MOST_SHEETS
from studiodesk.house_forms import HouseForm
from studiodesk.stations.models import Station


class CalendarLinkForm(HouseForm):
    """Whose bookings a calendar is to read: one's own, or for staff those of a station."""

    OWN = "own"
    station = forms.ChoiceField(label=_("What it shows"))

    def __init__(self, *args: Any, stations: list[Station], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.stations = {one.code: one for one in stations}
        if not stations:
            del self.fields["station"]
            return
        own = (self.OWN, _("Your own bookings"))
        named = [(one.code, one.name) for one in stations]
        choices = [own, (_("All bookings of a station, with numbers and no names"), named)]
        self.fields["station"].choices = choices  # type: ignore[attr-defined]

    def clean_station(self) -> Station | None:
        return self.stations.get(self.cleaned_data["station"])


class WritingForm(HouseForm):
    """How the house writes: for whoever chose no language of their own, and for everybody."""

    language = forms.ChoiceField(
        label=_("Language"),
        choices=list(manner.LANGUAGES.items()),
        widget=forms.RadioSelect,
        help_text=_("For whoever chose none and whose browser asks for none of these, for tablets, and for letters."),
    )
    clock = forms.ChoiceField(
        label=_("Clock"),
        choices=[("24", _("24 hours: 14:45")), ("12", _("12 hours: 2:45 pm"))],
        widget=forms.RadioSelect,
    )
    units = forms.ChoiceField(
        label=_("Sizes and areas"),
        choices=[("metric", _("Centimetres first, areas in m²")), ("inch", _("Inches first, areas in ft²"))],
        widget=forms.RadioSelect,
        help_text=_("Volumes are always mL and L: graduates, pumps and the suppliers' rates are."),
    )


class LetInForm(HouseForm):
    """Why somebody comes in although a rule of the house stands in the way."""

    override = forms.CharField(
        label=_("Why they may come in all the same"),
        max_length=200,
        help_text=_("It is written down with your name. No names of others."),
    )


class WalkInForm(HouseForm):
    """Who comes in without a booking; ``override`` is asked for only once a rule stands in the way."""

    name = forms.CharField(label=_("Who comes in"), max_length=120)
    heads = forms.IntegerField(label=_("How many people in all"), min_value=1, max_value=MOST_HEADS, initial=1)
    phone = forms.CharField(
        label=_("Telephone, in case of an emergency"),
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"type": "tel", "autocomplete": "off"}),
    )
    override = forms.CharField(
        label=_("Why they may come in all the same"),
        max_length=200,
        required=False,
        help_text=_("It is written down with your name. No names of others."),
    )

    def __init__(self, *args: Any, asks_why: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not asks_why:
            del self.fields["override"]


class OwnSheetsForm(ChemistryForm):
    """Sheets of one's own booking, added at the door."""

    sheet = forms.ModelChoiceField(
        SheetSize.objects.none(), label=_("Size"), to_field_name="code", empty_label=_("Choose")
    )
    sheets = forms.IntegerField(
        label=_("Sheets"), min_value=1, max_value=MOST_SHEETS, initial=1, error_messages=COUNT_WRONG
    )
    kind = forms.ChoiceField(label=_("What they were"), choices=TABLET_KINDS)

    def __init__(self, *args: Any, sizes: list[SheetSize], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["sheet"]
        field.queryset = SheetSize.objects.filter(pk__in=[one.pk for one in sizes]).order_by(
            "width_mm", "length_mm", "pk"
        )


class GroupSheetsForm(ChemistryForm):
    """What a whole class put through one processor: a number for each size, those of its outline first."""

    kind = forms.ChoiceField(label=_("What they were"), choices=TABLET_KINDS)

    def __init__(self, *args: Any, sizes: list[SheetSize], usual: dict[int, int], **kwargs: Any) -> None:
        """``usual``: size → how many were expected."""
        super().__init__(*args, **kwargs)
        self.sizes = {f"sheets_{size.pk}": size for size in sizes}
        self.usual = [name for name, size in self.sizes.items() if size.pk in usual]
        for name, size in self.sizes.items():
            expected = usual.get(size.pk)
            self.fields[name] = forms.IntegerField(
                label=size.label,
                required=False,
                min_value=0,
                max_value=MOST_SHEETS,
                help_text=_("About %(count)s were expected.") % {"count": expected} if expected else "",
            )

    @property
    def first(self) -> list[Any]:
        """The sizes that the outline speaks of; all of them if it speaks of none."""
        return [self[name] for name in self.usual or self.sizes]

    @property
    def others(self) -> list[Any]:
        return [self[name] for name in self.sizes if name not in self.usual] if self.usual else []

    @property
    def opens_others(self) -> bool:
        """Something stands in them, so they are not folded away."""
        return any(field.data or field.errors for field in self.others)

    def clean(self) -> dict[str, Any]:
        found = super().clean() or self.cleaned_data
        if not self.errors and not any(found.get(name) for name in self.sizes):
            self.add_error(None, _("Write how many sheets went through."))
        return found

    @property
    def sheets(self) -> list[tuple[SheetSize, int]]:
        return [(size, number) for name, size in self.sizes.items() if (number := self.cleaned_data.get(name))]


class LookForm(HouseForm):
    """Every widget that the house's forms have, for the page that shows them; it is never sent."""

    name = forms.CharField(label=_("Name"), max_length=40, help_text=_("As it stands on the card."))
    amount = forms.DecimalField(label=_("Amount in mL"), min_value=0, max_digits=8, decimal_places=1)
    size = forms.ChoiceField(label=_("Size"), choices=[("", "–"), ("203x254", "20×25 cm"), ("279x356", "28×36 cm")])
    process = forms.ChoiceField(
        label=_("Process"),
        choices=[("rc", _("Black-and-white, RC")), ("fb", _("Black-and-white, fibre"))],
        widget=forms.RadioSelect,
    )
    days = forms.MultipleChoiceField(
        label=_("Days of the week"),
        choices=[("3", _("Thursday")), ("4", _("Friday"))],
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text=_("None: any day."),
    )
    agree = forms.BooleanField(label=_("I have read the safety note"))
    on = forms.DateField(label=_("Day"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"))
    begins = forms.TimeField(label=_("From"), widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))
    note = forms.CharField(label=_("Note"), widget=forms.Textarea(attrs={"rows": 3}), required=False)

    def __init__(self, *args: Any, locked: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values() if locked else ():
            field.disabled = True
