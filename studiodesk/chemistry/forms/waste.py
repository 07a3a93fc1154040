"""Waste: streams, permits, containers, and what goes in and out of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk.bookings.forms.inputs import DateInput
from studiodesk.units import PL_PER_L, pl_from_ml, scaled

from ..models import Bath, Container, WasteStream
from .base import ChemistryForm, LocalMoment
from .figures import number

LONG = {"rows": 4}


class StreamForm(ChemistryForm):
    name = forms.CharField(label=_("Name"), max_length=120, help_text=_("Such as fixer and bleach-fix."))
    bears_silver = forms.BooleanField(label=_("It bears silver"), required=False)
    conditions = forms.CharField(
        label=_("What the contractor and the local rules ask of it"),
        required=False,
        max_length=5000,
        widget=forms.Textarea(attrs=LONG),
    )
    baths = forms.MultipleChoiceField(
        label=_("Baths that give to it"), required=False, widget=forms.CheckboxSelectMultiple()
    )

    def __init__(self, *args: Any, baths: Sequence[Bath], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.by_pk = {str(one.pk): one for one in baths}
        self.fields["baths"].choices = [(key, f"{one.name}, {one.processor.name}") for key, one in self.by_pk.items()]

    def values(self) -> dict[str, Any]:
        data = dict(self.cleaned_data)
        data["baths"] = [self.by_pk[key] for key in data["baths"]]
        return data


class PermitForm(ChemistryForm):
    number = forms.CharField(label=_("Number"), max_length=80)
    issued_by = forms.CharField(label=_("Who gave it"), max_length=200)
    conditions = forms.CharField(
        label=_("Its conditions, in its own words"),
        required=False,
        max_length=10000,
        widget=forms.Textarea(attrs={"rows": 8}),
    )
    valid_from = forms.DateField(label=_("Valid from"), widget=DateInput())
    valid_until = forms.DateField(label=_("Valid until"), required=False, widget=DateInput())


class WasteContainerForm(ChemistryForm):
    name = forms.CharField(label=_("What stands on it"), max_length=120)
    code = forms.CharField(label=_("Its mark"), max_length=30, help_text=_("Short, such as W-1."))
    stream = forms.ChoiceField(label=_("Its stream"))
    litres = number(_("It holds, in L"), least="0.1", required=True)
    place = forms.CharField(label=_("Where it stands"), required=False, max_length=120)
    in_use = forms.BooleanField(label=_("It is in use"), required=False, initial=True)

    def __init__(self, *args: Any, streams: Sequence[WasteStream], row: Container | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.streams = {one.code: one for one in streams}
        self.fields["stream"].choices = [("", _("Choose")), *((one.code, one.name) for one in streams)]
        if row is not None:
            del self.fields["code"]

    def values(self) -> dict[str, Any]:
        data = dict(self.cleaned_data)
        data["stream"] = self.streams[data["stream"]]
        data["capacity_pl"] = scaled(data.pop("litres"), PL_PER_L)
        return data


class PourForm(ChemistryForm):
    DOUBTED = ("pour-at", "pour-amount")

    at = LocalMoment(label=_("When"))
    what = forms.ChoiceField(label=_("What it is"))
    amount = number(_("Amount in mL"), least="0.001", required=True)
    note = forms.CharField(label=_("Note"), required=False, max_length=500)

    def __init__(self, *args: Any, streams: Sequence[WasteStream], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.streams = {one.code: one for one in streams}
        self.fields["what"].choices = [("", _("Choose")), *((one.code, one.name) for one in streams)]

    def values(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "at": data["at"],
            "what": self.streams[data["what"]],
            "amount_pl": pl_from_ml(data["amount"]),
            "note": data["note"],
        }


class WasteLevelForm(ChemistryForm):
    at = LocalMoment(label=_("When it was read"))
    level = number(_("What stands in it, in L"), required=True)
    note = forms.CharField(label=_("Note"), required=False, max_length=500)

    def values(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {"at": data["at"], "level_pl": scaled(data["level"], PL_PER_L), "note": data["note"]}


class ConnectForm(ChemistryForm):
    at = LocalMoment(label=_("When"))

    def values(self) -> dict[str, Any]:
        return {"at": self.cleaned_data["at"]}


class PickUpForm(ChemistryForm):
    at = LocalMoment(label=_("When"))
    containers = forms.MultipleChoiceField(label=_("What was taken away"), widget=forms.CheckboxSelectMultiple())
    contractor = forms.CharField(label=_("Contractor"), max_length=200)
    receipt = forms.CharField(label=_("Number of the receipt"), max_length=80)
    keep_until = forms.DateField(
        label=_("The receipt is kept until"),
        widget=DateInput(),
        help_text=_("The contractor or the authority says how long; three years is common."),
    )
    silver = number(_("Silver as the contractor measured it, in g"), places=3)
    note = forms.CharField(label=_("Note"), required=False, max_length=500)

    def __init__(self, *args: Any, containers: Sequence[Container], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.by_code = {one.code: one for one in containers}
        self.fields["containers"].choices = [(code, f"{one.name} ({code})") for code, one in self.by_code.items()]

    def values(self) -> dict[str, Any]:
        data = dict(self.cleaned_data)
        silver = data.pop("silver")
        data["silver_mg"] = None if silver is None else scaled(silver, 1000)
        data["containers"] = [self.by_code[code] for code in data["containers"]]
        return data
