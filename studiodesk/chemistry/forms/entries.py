"""Entries of a bath's book."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk.units import PL_PER_ML, pl_from_ml, scaled

from ..models import BathEntry
from ..queries.sources import FROM_SOMEWHERE, Source
from ..rules import entering
from ..words import HOW_MUCH
from .base import ChemistryForm, LocalMoment

UG_PER_G = 1_000_000


class EntryForm(ChemistryForm):
    """One entry of a bath's book; only the fields that belong to its kind are asked for."""

    at = LocalMoment(label=_("When"))
    amount = forms.DecimalField(
        label=_("Amount in mL"), decimal_places=3, max_digits=12, error_messages={"required": HOW_MUCH}
    )
    drawn = forms.DecimalField(
        label=_("Drawn off before, in mL"),
        required=False,
        min_value=0,
        decimal_places=3,
        max_digits=12,
        help_text=_("Where nothing runs over a weir: as much as you are going to give."),
    )
    silver = forms.DecimalField(
        label=_("Silver in g/L"),
        required=False,
        decimal_places=3,
        max_digits=7,
        help_text=_("Leave it empty if the strip gave no figure."),
    )
    source = forms.ChoiceField(
        label=_("Where it came from"),
        required=False,
        help_text=_("What goes in is taken from there; its age goes along."),
    )
    note = forms.CharField(label=_("Note"), required=False, max_length=500, widget=forms.Textarea(attrs={"rows": 2}))

    DOUBTED = ("at", "amount", "source")

    def __init__(
        self, *args: Any, event: str, has_weir: bool = True, sources: Sequence[Source] = (), **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.sources = {one.value: one for one in sources}
        self.fields["source"].choices = [("", _("Not said")), *((one.value, str(one)) for one in sources)]
        if not sources or event not in FROM_SOMEWHERE:
            del self.fields["source"]
        if event != entering.GIVEN or has_weir:
            del self.fields["drawn"]
        if event not in entering.WITH_AMOUNT:
            del self.fields["amount"]
        if event != entering.STRIP:
            del self.fields["silver"]
        if event in (entering.CONDEMNED, entering.CONTAMINATED, entering.NOTE):
            self.fields["note"].required = True

    @staticmethod
    def written(entry: BathEntry) -> dict[str, Any]:
        """What an entry says, as the fields would have been filled in."""

        def whole(amount: int | None, per: int) -> Decimal | None:
            return None if amount is None else Decimal(amount) / per

        return {
            "at": entry.at,
            "amount": whole(entry.amount_pl, PL_PER_ML),
            "drawn": whole(entry.drawn_pl, PL_PER_ML),
            "silver": whole(entry.silver_ug_per_l, UG_PER_G),
            "note": entry.note,
        }

    @property
    def chosen(self) -> Source | None:
        return self.sources.get(self.cleaned_data.get("source") or "")

    def values(self) -> dict[str, Any]:
        """The act's arguments but for where it came from."""
        data = self.cleaned_data
        amount, silver, drawn = data.get("amount"), data.get("silver"), data.get("drawn")
        return {
            "at": data["at"],
            "note": data.get("note", ""),
            "amount_pl": None if amount is None else pl_from_ml(amount),
            "drawn_pl": None if drawn is None else pl_from_ml(drawn),
            "silver_ug_per_l": None if silver is None else scaled(silver, UG_PER_G),
        }
