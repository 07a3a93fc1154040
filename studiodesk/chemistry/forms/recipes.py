"""A recipe as staff keep it: its parts in order, and how long the mix lasts in each state."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from studiodesk.units import PL_PER_ML, PL_PER_UNIT, pl_from, pl_from_ml

from ..actions import PartOf
from ..models import Product, Recipe
from ..rules.mixing import plain
from ..words.mixing import PRODUCT_UNITS, STATES, USES, VOLUME_UNITS
from .base import ChemistryForm
from .mixing import AMOUNT

WATER, MARK = "-water", "-mark"
SPARE, MOST = 2, 12
DAY_S = 86_400


class RecipeForm(ChemistryForm):
    name = forms.CharField(label=_("What is mixed"), max_length=120)
    use = forms.ChoiceField(label=_("What it is for"), choices=list(USES.items()))
    makes = forms.DecimalField(label=_("The amounts below make"), **AMOUNT)
    unit = forms.ChoiceField(label=_("Unit"), choices=list(VOLUME_UNITS.items()))
    ratio = forms.CharField(
        label=_("Ratio"),
        required=False,
        max_length=30,
        help_text=_(
            "Such as 1+9: one part and nine parts of water. The amount of the one concentrate may be left to it."
        ),
    )
    least = forms.DecimalField(
        label=_("Least concentrate for one roll or sheet, in mL"), required=False, decimal_places=3, max_digits=9,
        min_value=Decimal("0.001"),
    )  # fmt: skip
    stream = forms.ChoiceField(label=_("Waste stream"), required=False)
    hazard_words = forms.CharField(
        label=_("Hazard words of the mix"),
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_("As the supplier's safety data sheet gives them; they stand on the label."),
    )
    protection = forms.CharField(label=_("What to wear"), required=False, max_length=300)
    source = forms.CharField(label=_("Where the figures come from"), required=False, max_length=200)
    in_use = forms.BooleanField(label=_("It is mixed"), required=False, initial=True)

    def __init__(
        self, *args: Any, products: Sequence[Product], streams: Sequence[Any], parts: int, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.products = {one.code: one for one in products}
        self.streams = {one.code: one for one in streams}
        self.rows = min(MOST, parts + SPARE)
        self.fields["stream"].choices = [("", _("Not said")), *((one.code, one.name) for one in streams)]
        if not streams:
            del self.fields["stream"]
        bought = [(one.code, f"{one.name} ({PRODUCT_UNITS[one.unit]})") for one in products]
        choices = [("", _("Nothing")), (WATER, _("Water (mL)")), (MARK, _("Water, made up to volume")), *bought]
        for n in range(1, self.rows + 1):
            self.fields[f"what{n}"] = forms.ChoiceField(label=_("What"), required=False, choices=choices)
            self.fields[f"amount{n}"] = forms.DecimalField(label=_("How much of it"), required=False, **AMOUNT)
            self.fields[f"rounds{n}"] = forms.DecimalField(
                label=_("Can be measured to"), required=False, decimal_places=3, max_digits=9,
                min_value=Decimal("0.001"),
            )  # fmt: skip
            self.fields[f"how{n}"] = forms.CharField(label=_("How"), required=False, max_length=300)
            self.fields[f"caution{n}"] = forms.CharField(label=_("Caution"), required=False, max_length=300)
        for state, words in STATES.items():
            self.fields[_life(state)] = forms.IntegerField(label=words, required=False, min_value=1, max_value=3660)

    def groups(self) -> list[tuple[str, list[Any]]]:
        """The fields under their headings: the recipe itself, each part, how long it lasts."""
        own = [self[name] for name in self.fields if name in self.base_fields]
        parts = [
            (
                gettext("Part %(number)s") % {"number": n},
                [self[f"{name}{n}"] for name in ("what", "amount", "rounds", "how", "caution")],
            )
            for n in range(1, self.rows + 1)
        ]
        lives = (
            gettext("Keeps so many days, if it stands like this all the time"),
            [self[_life(one)] for one in STATES],
        )
        return [("", own), *parts, lives]

    @staticmethod
    def written(recipe: Recipe) -> dict[str, Any]:
        """What is kept, as the fields would have been written."""
        unit = "L" if not recipe.makes_pl % PL_PER_UNIT["L"] else "mL"
        least = recipe.least_per_unit_pl
        out: dict[str, Any] = {
            name: getattr(recipe, name)
            for name in ("name", "use", "ratio", "hazard_words", "protection", "source", "in_use")
        }
        out |= {
            "makes": plain(Decimal(recipe.makes_pl) / PL_PER_UNIT[unit]),
            "unit": unit,
            "least": None if least is None else plain(Decimal(least) / PL_PER_ML),
            "stream": recipe.stream.code if recipe.stream else "",
        }
        for n, part in enumerate(recipe.parts.all(), 1):
            out[f"what{n}"] = MARK if part.make_up else part.product.code if part.product else WATER
            out |= {f"amount{n}": _plain(part.amount), f"rounds{n}": _plain(part.rounds_to)}
            out |= {f"how{n}": part.instruction, f"caution{n}": part.caution}
        return out | {_life(one.state): one.life_s // DAY_S for one in recipe.lives.all()}

    def values(self) -> dict[str, Any]:
        """The act's arguments but for the code."""
        data = self.cleaned_data
        plain = ("name", "use", "ratio", "hazard_words", "protection", "source", "in_use")
        return {
            **{name: data[name] for name in plain},
            "makes_pl": pl_from(data["makes"], data["unit"]),
            "least_per_unit_pl": None if data["least"] is None else pl_from_ml(data["least"]),
            "stream": self.streams.get(data.get("stream") or ""),
            "parts": [self._part(n, data) for n in range(1, self.rows + 1) if data[f"what{n}"]],
            "lives": {state: data[_life(state)] * DAY_S for state in STATES if data[_life(state)]},
        }

    def _part(self, n: int, data: Mapping[str, Any]) -> PartOf:
        what, mark = data[f"what{n}"], data[f"what{n}"] == MARK
        return PartOf(
            product=self.products.get(what),
            amount=None if mark else data[f"amount{n}"],
            make_up=mark,
            rounds_to=None if mark else data[f"rounds{n}"],
            instruction=data[f"how{n}"],
            caution=data[f"caution{n}"],
        )


def _plain(number: Decimal | None) -> str:
    return "" if number is None else plain(number)


def _life(state: str) -> str:
    return "life_" + state.replace(" ", "_").replace("-", "_")
