"""The sizes and classes of paper as staff keep them."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk.stations.models import Process
from studiodesk.units import scaled

from ..models import SheetSize
from ..rules.sizes import MOST_MM
from .base import ChemistryForm

SORTS = {
    "sheet": _("A sheet"),
    "roll": _("A roll: pieces of any length"),
    "film": _("A film: one counts the area below"),
}
MM2_PER_CM2 = 100


class SizeForm(ChemistryForm):
    name = forms.CharField(label=_("Name"), max_length=60)
    inches = forms.CharField(
        label=_("Name in inches"), required=False, max_length=30, help_text=_("Such as 8×10 in: as the trade says it.")
    )
    centimetres = forms.CharField(
        label=_("Name in centimetres"),
        required=False,
        max_length=30,
        help_text=_("Such as 20×25 cm; it is never reckoned from the inches."),
    )
    sort = forms.ChoiceField(label=_("What it is"), choices=list(SORTS.items()))
    width_mm = forms.IntegerField(label=_("Width in mm"), min_value=1, max_value=MOST_MM)
    length_mm = forms.IntegerField(label=_("Length in mm"), required=False, min_value=1, max_value=MOST_MM)
    film_area = forms.DecimalField(
        label=_("Area of one film in cm²"), required=False, min_value=Decimal("0.01"), max_digits=9, decimal_places=2
    )
    in_use = forms.BooleanField(label=_("It is in use"), required=False, initial=True)

    @staticmethod
    def written(row: SheetSize) -> dict[str, Any]:
        area = row.film_area_mm2
        return {
            "name": row.name,
            "inches": row.inches,
            "centimetres": row.centimetres,
            "sort": row.sort,
            "width_mm": row.width_mm,
            "length_mm": row.length_mm or None,
            "film_area": None if area is None else Decimal(area) / MM2_PER_CM2,
            "in_use": row.in_use,
        }

    def values(self) -> dict[str, Any]:
        """The act's arguments but for the code."""
        data = dict(self.cleaned_data)
        area = data.pop("film_area")
        data["film_area_mm2"] = None if area is None else scaled(area, MM2_PER_CM2)
        return data


class PaperForm(ChemistryForm):
    name = forms.CharField(label=_("Name"), max_length=120)
    processes = forms.MultipleChoiceField(
        label=_("It goes through"), required=False, widget=forms.CheckboxSelectMultiple()
    )

    def __init__(self, *args: Any, processes: Sequence[Process], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.by_code = {one.code: one for one in processes}
        self.fields["processes"].choices = [(one.code, one.name) for one in processes]

    def values(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {"name": data["name"], "processes": [self.by_code[code] for code in data["processes"]]}
