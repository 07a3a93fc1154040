"""Mixing, and what is done with a container."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk.units import PL_PER_UNIT, pl_from, pl_from_ml

from ..queries.mixing import Content
from ..queries.mixing_steps import Step
from ..rules.mixing import plain
from ..words.mixing import CONTAINER_SORTS, VOLUME_UNITS
from .base import ChemistryForm, LocalMoment

AMOUNT: dict[str, Any] = {"decimal_places": 3, "max_digits": 12, "min_value": 0}


def volume_pl(amount: Decimal | None, unit: str) -> int:
    return 0 if amount is None else pl_from(amount, unit)


class AmountForm(ChemistryForm):
    """How much is to be mixed, in the unit that somebody says it in."""

    amount = forms.DecimalField(label=_("How much in all"), **AMOUNT)
    unit = forms.ChoiceField(label=_("Unit"), choices=list(VOLUME_UNITS.items()))
    units = forms.IntegerField(label=_("For how many rolls or sheets"), required=False, min_value=1, max_value=9999)

    def __init__(self, *args: Any, one_shot: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not one_shot:
            del self.fields["units"]

    @property
    def asked_pl(self) -> int:
        return volume_pl(self.cleaned_data["amount"], self.cleaned_data["unit"])


class MixForm(ChemistryForm):
    """What was really measured of each part, how much was made, and what it stands in."""

    amount = forms.DecimalField(widget=forms.HiddenInput, **AMOUNT)
    unit = forms.ChoiceField(widget=forms.HiddenInput, choices=[(unit, unit) for unit in PL_PER_UNIT])
    at = LocalMoment(label=_("When"))
    made = forms.DecimalField(label=_("Made in all"), **AMOUNT)
    container = forms.ChoiceField(label=_("Poured into"), required=False)
    note = forms.CharField(label=_("Note"), required=False, max_length=500, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, steps: Sequence[Step], containers: Sequence[Content], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.containers = {one.container.code: one.container for one in containers}
        free = [(one.container.code, str(one)) for one in containers]
        self.fields["container"].choices = [("", _("Straight into a tank or tray")), *free]
        measured = {}
        for step in steps:
            if not step.is_mark:
                measured[self.field_of(step.position)] = forms.DecimalField(
                    label=_("%(what)s measured, in %(unit)s") % {"what": step.name, "unit": step.unit},
                    initial=plain(step.rounded),
                    **AMOUNT,
                )
        self.positions = [step.position for step in steps if not step.is_mark]
        self.fields = {**measured, **self.fields}
        # Whatever is changed, the doubt is said again.
        self.DOUBTED = ("at", "amount", "unit", "made", *measured)

    @staticmethod
    def field_of(position: int) -> str:
        return f"part{position}"

    def values(self) -> dict[str, Any]:
        """The act's arguments."""
        data = self.cleaned_data
        return {
            "asked_pl": volume_pl(data["amount"], data["unit"]),
            "made_pl": volume_pl(data["made"], data["unit"]),
            "at": data["at"],
            "measured": {position: data[self.field_of(position)] for position in self.positions},
            "container": self.containers.get(data["container"] or ""),
            "note": data["note"],
        }


class _MillilitreForm(ChemistryForm):
    """An amount of a container, in mL."""

    amount = forms.DecimalField(label=_("Amount in mL"), **AMOUNT)
    note = forms.CharField(label=_("Note"), required=False, max_length=500)

    @property
    def amount_pl(self) -> int:
        return pl_from_ml(self.cleaned_data["amount"])


class MoveForm(_MillilitreForm):
    """Pour over into another container."""

    container = forms.ChoiceField(label=_("Into"))
    field_order = ("container", "amount", "note")

    def __init__(self, *args: Any, containers: Sequence[Content], **kwargs: Any) -> None:
        super().__init__(*args, prefix="move", **kwargs)
        self.containers = {one.container.code: one.container for one in containers}
        self.fields["container"].choices = [(one.container.code, str(one)) for one in containers]


class LevelForm(_MillilitreForm):
    """What is really in it."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, prefix="level", **kwargs)
        self.fields["amount"].label = _("What is in it now, in mL")


class EmptyForm(ChemistryForm):
    """What was left in it is gone."""

    note = forms.CharField(label=_("Why, and into which waste container"), max_length=500)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, prefix="empty", **kwargs)


class ContainerForm(ChemistryForm):
    """A container as staff keep it."""

    name = forms.CharField(label=_("What stands on it"), max_length=120)
    sort = forms.ChoiceField(label=_("What it is"), choices=list(CONTAINER_SORTS.items()))
    capacity = forms.DecimalField(label=_("Takes, in L"), **AMOUNT)
    place = forms.CharField(label=_("Where it stands"), required=False, max_length=120)
    stream = forms.ChoiceField(label=_("Only for what goes into this waste stream"), required=False)
    bath = forms.ChoiceField(label=_("The bath that is replenished from it"), required=False)
    in_use = forms.BooleanField(label=_("It is in use"), required=False, initial=True)

    def __init__(self, *args: Any, streams: Sequence[Any], baths: Sequence[Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.streams = {one.code: one for one in streams}
        self.baths = {f"{one.processor.code}/{one.code}": one for one in baths}
        any_one = [("", _("Not said"))]
        self.fields["stream"].choices = [*any_one, *((code, one.name) for code, one in self.streams.items())]
        named = ((code, f"{one.name}, {one.processor.name}") for code, one in self.baths.items())
        self.fields["bath"].choices = [*any_one, *named]
        if not streams:
            del self.fields["stream"]

    def values(self) -> dict[str, Any]:
        """The act's arguments but for the code."""
        data = self.cleaned_data
        return {
            "name": data["name"],
            "sort": data["sort"],
            "capacity_pl": pl_from(data["capacity"], "L"),
            "place": data["place"],
            "stream": self.streams.get(data.get("stream") or ""),
            "feeds_bath": self.baths.get(data["bath"] or ""),
            "in_use": data["in_use"],
        }
