"""A pump caught in a cylinder, a bottle read, a pair of baths rotated."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk.units import PL_PER_L, pl_from_ml, scaled

from ..rules.pumps import MOST_STROKES
from .base import ChemistryForm, LocalMoment
from .figures import number

CATCHES = 5


class PumpForm(ChemistryForm):
    """Three catches at least, five at most."""

    at = LocalMoment(label=_("When"))
    strokes_each = forms.IntegerField(label=_("Strokes in one catch"), min_value=1, max_value=MOST_STROKES, initial=1)
    note = forms.CharField(label=_("Note"), required=False, max_length=500)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        note = self.fields.pop("note")
        for one in range(1, CATCHES + 1):
            label = _("Catch %(number)s in mL") % {"number": one}
            self.fields[f"catch_{one}"] = number(label, least="0.001", required=one <= 3)
        self.fields["note"] = note

    def values(self) -> dict[str, Any]:
        data = self.cleaned_data
        caught = [data[f"catch_{one}"] for one in range(1, CATCHES + 1)]
        return {
            "at": data["at"],
            "strokes_each": data["strokes_each"],
            "caught_pl": [pl_from_ml(one) for one in caught if one is not None],
            "note": data["note"],
        }


class BottleForm(ChemistryForm):
    DOUBTED = ("at", "level", "poured_in")

    at = LocalMoment(label=_("When it was read"))
    level = number(_("How much is in it, in mL"), required=True)
    poured_in = number(_("New replenisher poured in after that, in mL"))
    note = forms.CharField(label=_("Note"), required=False, max_length=500)

    def values(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "at": data["at"],
            "level_pl": pl_from_ml(data["level"]),
            "poured_in_pl": pl_from_ml(data["poured_in"] or Decimal(0)),
            "note": data["note"],
        }


class NewBottleForm(ChemistryForm):
    name = forms.CharField(label=_("What stands on the bottle"), max_length=120)
    code = forms.CharField(label=_("Its mark"), max_length=30, help_text=_("Short, such as R-1."))
    litres = number(_("It holds, in L"), least="0.01", required=True)
    floating_lid = forms.BooleanField(label=_("It has a floating lid"), required=False)
    place = forms.CharField(label=_("Where it stands"), required=False, max_length=120)

    def values(self) -> dict[str, Any]:
        data = dict(self.cleaned_data)
        data["capacity_pl"] = scaled(data.pop("litres"), PL_PER_L)
        return data


class RotateForm(ChemistryForm):
    at = LocalMoment(label=_("When"))
    note = forms.CharField(label=_("Note"), required=False, max_length=500)
