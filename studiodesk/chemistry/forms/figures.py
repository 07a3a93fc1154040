"""The figures of a bath, as the data sheet says them; rounded once to whole units when they are kept."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk.units import PL_PER_L, PL_PER_ML, decimal_of, minor_from_major, scaled

from ..models import Bath, BathSetting, PaperClass, SheetSize
from ..rules import entered_rates as rates
from .base import ChemistryForm, LocalMoment

DAY_S = 86_400
UG_PER_G = 1_000_000
DOSINGS = {
    "machine": _("By machine: its pump gives whole strokes"),
    "hand": _("By hand: a person gives measures"),
    "batch": _("Batch: filled, used up, poured away"),
    "one-shot": _("One-shot: used once"),
    "running water": _("Running water"),
}
RATE_UNITS = {
    rates.PER_M2: _("mL per m²"),
    rates.PER_FT2: _("mL per ft²"),
    rates.PER_SHEET: _("mL per sheet of the size below"),
    rates.PER_METRE: _("mL per metre of the width below"),
    rates.PER_FOOT: _("mL per foot of the width below"),
    rates.PER_100_FEET: _("mL per 100 feet of the width below"),
}
CAPACITY_UNITS = {rates.M2_PER_L: _("m² per litre"), rates.SHEETS_PER_L: _("sheets of the size below per litre")}

GROUPS: tuple[tuple[Any, tuple[str, ...]], ...] = (
    (_("The tank"), ("dosing", "volume", "has_weir", "most_at_once", "dumped_at_closing")),
    (_("Replenishment"), ("rate", "rate_unit", "unit", "start_up", "idle", "evaporation", "low_use")),
    (_("Limits"), ("capacity", "capacity_unit", "turnovers", "age_days", "bottle_days")),
    (_("What a rate or capacity for a sheet or a length speaks of"), ("size", "width")),
    (_("Silver"), ("silver", "silver_limit")),
    (_("Fixing in two baths"), ("next_bath", "rotations")),
    (_("Money"), ("refill_cost", "replenisher_cost")),
    (_("Since when, and from where"), ("since", "source")),
)


def number(label: Any, *, least: str = "0", places: int = 3, help_text: Any = "", required: bool = False) -> Any:
    return forms.DecimalField(
        label=label,
        required=required,
        min_value=Decimal(least),
        max_digits=14,
        decimal_places=places,
        help_text=help_text,
    )


class FiguresForm(ChemistryForm):
    """``papers``: the classes that go through; each may have a rate, a capacity and a silver figure of its own."""

    dosing = forms.ChoiceField(label=_("How it is replenished"), choices=list(DOSINGS.items()))
    volume = number(_("Volume of the tank in L"), least="0.001", required=True)
    rate = number(_("Replenishment"))
    rate_unit = forms.ChoiceField(label=_("The replenishment is in"), choices=list(RATE_UNITS.items()), required=False)
    unit = number(_("One stroke, or one measure by hand, in mL"), least="0.001")
    capacity = number(_("Capacity"), least="0.000001", places=6)
    capacity_unit = forms.ChoiceField(
        label=_("The capacity is in"), choices=list(CAPACITY_UNITS.items()), required=False
    )
    size = forms.ChoiceField(label=_("The size of those sheets"), required=False)
    width = forms.IntegerField(label=_("Width of that web in mm"), required=False, min_value=1, max_value=5000)
    turnovers = number(_("Limit of turnovers"), least="0.001", help_text=_("Only if the data sheet gives one."))
    age_days = number(_("Shelf life in tank or tray, in days"), least="0.0001", places=4)
    bottle_days = number(_("Shelf life in its marked bottle, in days"), least="0.0001", places=4)
    silver = number(_("Silver that paper brings, in g per m²"), places=6)
    silver_limit = number(_("Silver limit in g/L"), least="0.000001", places=6)
    low_use = number(
        _("Fewer turnovers in four weeks than this is too little use"), least="0.001", help_text=_("Empty: not asked.")
    )
    idle = number(_("Asked for each day without work, in % of the tank"), help_text=_("For what air does to it."))
    start_up = number(_("Asked at each opening, in mL"))
    evaporation = number(_("Water lost in a day without work, in mL"))
    has_weir = forms.BooleanField(label=_("What is too much runs over a weir"), required=False)
    most_at_once = number(_("The tank bears at once, in mL"), least="0.001")
    dumped_at_closing = forms.BooleanField(label=_("It is poured away at every closing"), required=False)
    next_bath = forms.ChoiceField(
        label=_("When it is spent, this bath takes its place"), required=False, help_text=_("For fixing in two baths.")
    )
    rotations = forms.IntegerField(
        label=_("How often that may be done before both go"), required=False, min_value=1, max_value=100
    )
    refill_cost = number("", places=2)
    replenisher_cost = number("", places=4)
    source = forms.CharField(
        label=_("Where these figures come from"), max_length=200, help_text=_("The data sheet and its edition.")
    )
    since = LocalMoment(label=_("In force from"))

    def __init__(
        self,
        *args: Any,
        bath: Bath,
        sizes: Sequence[SheetSize],
        papers: Sequence[PaperClass],
        currency: str,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        money = {"currency": currency}
        self.fields["refill_cost"].label = _("A refill costs, in %(currency)s") % money
        self.fields["replenisher_cost"].label = _("A litre of replenisher costs, in %(currency)s") % money
        self.bath, self.papers = bath, list(papers)
        self.sizes = {one.code: one for one in sizes if one.length_mm}
        self.fields["size"].choices = [("", _("None")), *((one.code, one.label) for one in self.sizes.values())]
        others = Bath.objects.filter(processor=bath.processor_id).exclude(pk=bath.pk)
        self.others = {one.code: one for one in others}
        self.fields["next_bath"].choices = [("", _("None")), *((one.code, one.name) for one in others)]
        for paper in self.papers:
            named = {"paper": paper.name}
            self.fields[f"rate:{paper.code}"] = number(_("%(paper)s: replenishment, in the unit above") % named)
            self.fields[f"capacity:{paper.code}"] = number(
                _("%(paper)s: capacity, in the unit above") % named, least="0.000001", places=6
            )
            self.fields[f"silver:{paper.code}"] = number(_("%(paper)s: silver in g per m²") % named, places=6)

    def _named(self, name: str) -> list[str]:
        """A figure of the bath, and those of the classes of paper."""
        return [name, *(f"{name}:{paper.code}" for paper in self.papers)]

    def clean(self) -> dict[str, Any]:
        """A rate or capacity that speaks of a sheet or a web names it; a machine has a stroke."""
        data = super().clean() or self.cleaned_data
        size = self.sizes.get(data.get("size") or "")
        rated = any(data.get(name) is not None for name in self._named("rate"))
        by_sheet = rated and data.get("rate_unit") == rates.PER_SHEET
        by_sheet |= data.get("capacity_unit") == rates.SHEETS_PER_L and any(
            data.get(name) is not None for name in self._named("capacity")
        )
        if by_sheet and size is None:
            self.add_error("size", _("Choose the size that the figure speaks of."))
        if rated and data.get("rate_unit") in rates.LENGTHS and not data.get("width"):
            self.add_error("width", _("Write the width that the figure speaks of."))
        if data.get("dosing") in ("machine", "hand") and data.get("rate") is None:
            self.add_error("rate", _("What is replenished has a rate."))
        if data.get("dosing") == "machine" and data.get("unit") is None:
            self.add_error("unit", _("A pump has a stroke: catch it in a cylinder, three times at least."))
        return data

    def figures(self, digits: int) -> dict[str, Any]:
        """The columns of a version; ``digits``: decimals of the currency."""
        data = self.cleaned_data
        rate, capacity = data["rate"], data["capacity"]
        return {
            "dosing": data["dosing"],
            "volume_pl": scaled(data["volume"], PL_PER_L),
            "rate_ul_per_m2": None if rate is None else self._rate(rate),
            "unit_pl": _scaled(data["unit"], PL_PER_ML),
            "capacity_mm2_per_l": None if capacity is None else self._capacity(capacity),
            "turnover_limit": data["turnovers"],
            "age_limit_s": _scaled(data["age_days"], DAY_S),
            "bottle_limit_s": _scaled(data["bottle_days"], DAY_S),
            "silver_ug_per_m2": _scaled(data["silver"], UG_PER_G),
            "silver_limit_ug_per_l": _scaled(data["silver_limit"], UG_PER_G),
            "low_use_turnovers": data["low_use"],
            "idle_pl_per_day": scaled(decimal_of(data["volume"]) * (data["idle"] or 0) / 100, PL_PER_L),
            "start_up_pl": _scaled(data["start_up"], PL_PER_ML) or 0,
            "evaporation_pl_per_day": _scaled(data["evaporation"], PL_PER_ML),
            "has_weir": data["has_weir"],
            "most_at_once_pl": _scaled(data["most_at_once"], PL_PER_ML),
            "dumped_at_closing": data["dumped_at_closing"],
            "rotations_limit": data["rotations"],
            "refill_cost_minor": None if data["refill_cost"] is None else minor_from_major(data["refill_cost"], digits),
            "replenisher_minor_per_kl": None
            if data["replenisher_cost"] is None
            else minor_from_major(data["replenisher_cost"] * 1000, digits),
            "by_paper": self._by_paper(),
            "source": data["source"].strip(),
            "as_entered": self._as_entered(),
        }

    @property
    def _sheet_mm2(self) -> int | None:
        size = self.sizes.get(self.cleaned_data.get("size") or "")
        return size.area_mm2 if size else None

    def _rate(self, value: Decimal) -> int:
        unit = self.cleaned_data["rate_unit"] or rates.PER_M2
        return rates.rate_ul_per_m2(value, unit, sheet_mm2=self._sheet_mm2, width_mm=self.cleaned_data.get("width"))

    def _capacity(self, value: Decimal) -> int:
        return rates.capacity_mm2_per_l(
            value, self.cleaned_data["capacity_unit"] or rates.M2_PER_L, sheet_mm2=self._sheet_mm2
        )

    def _by_paper(self) -> dict[str, dict[str, int]]:
        data = self.cleaned_data
        kept: dict[str, tuple[str, Callable[[Decimal], int]]] = {
            "rate": ("rate_ul_per_m2", self._rate),
            "capacity": ("capacity_mm2_per_l", self._capacity),
            "silver": ("silver_ug_per_m2", lambda value: scaled(value, UG_PER_G)),
        }
        found: dict[str, dict[str, int]] = {}
        for paper in self.papers:
            own = {
                column: convert(value)
                for name, (column, convert) in kept.items()
                if (value := data.get(f"{name}:{paper.code}")) is not None
            }
            if own:
                found[paper.code] = own
        return found

    def _as_entered(self) -> dict[str, str]:
        """Every figure as it was written, by its field; what a page shows again."""
        left_out = {"since", "source", "next_bath"}
        written = {name: value for name, value in self.cleaned_data.items() if name not in left_out}
        return {name: str(value) for name, value in written.items() if value not in (None, "", False)}

    def groups(self) -> list[tuple[Any, list[Any]]]:
        """(heading, fields) as the page shows them; what a class of paper has of its own stands under its name."""
        listed = [(heading, [self[name] for name in names]) for heading, names in GROUPS]
        for paper in self.papers:
            own = [self[f"{name}:{paper.code}"] for name in ("rate", "capacity", "silver")]
            listed.append((_("%(paper)s, where it differs") % {"paper": paper.name}, own))
        return listed

    @property
    def next_one(self) -> Bath | None:
        return self.others.get(self.cleaned_data.get("next_bath") or "")


def _scaled(value: Decimal | None, factor: int) -> int | None:
    return None if value is None else scaled(value, factor)


def _plain(value: Decimal) -> Decimal:
    """Without zeros at its end and without a power of ten: 240, not 2.4E+2."""
    return Decimal(f"{value.normalize():f}")


def _whole(value: int | None, factor: int) -> Decimal | None:
    return None if value is None else _plain(Decimal(value) / factor)


def figures_written(row: BathSetting, digits: int) -> dict[str, Any]:
    """The version in force as the form's fields: a rate or capacity as it was entered here, else as it is kept."""
    minor = 10**digits
    kept = {
        "dosing": row.dosing,
        "volume": _whole(row.volume_pl, PL_PER_L),
        "rate": _whole(row.rate_ul_per_m2, 1000),
        "rate_unit": rates.PER_M2,
        "unit": _whole(row.unit_pl, PL_PER_ML),
        "capacity": _whole(row.capacity_mm2_per_l, 1_000_000),
        "capacity_unit": rates.M2_PER_L,
        "turnovers": row.turnover_limit,
        "age_days": _whole(row.age_limit_s, DAY_S),
        "bottle_days": _whole(row.bottle_limit_s, DAY_S),
        "silver": _whole(row.silver_ug_per_m2, UG_PER_G),
        "silver_limit": _whole(row.silver_limit_ug_per_l, UG_PER_G),
        "low_use": row.low_use_turnovers,
        "idle": _plain(Decimal(100 * row.idle_pl_per_day) / row.volume_pl) if row.idle_pl_per_day else None,
        "start_up": _whole(row.start_up_pl or None, PL_PER_ML),
        "evaporation": _whole(row.evaporation_pl_per_day, PL_PER_ML),
        "has_weir": row.has_weir,
        "most_at_once": _whole(row.most_at_once_pl, PL_PER_ML),
        "dumped_at_closing": row.dumped_at_closing,
        "rotations": row.rotations_limit,
        "refill_cost": _whole(row.refill_cost_minor, minor),
        "replenisher_cost": _whole(row.replenisher_minor_per_kl, 1000 * minor),
        "source": row.source,
    }
    factors = {"rate_ul_per_m2": ("rate", 1000), "capacity_mm2_per_l": ("capacity", 1_000_000)}
    factors["silver_ug_per_m2"] = ("silver", UG_PER_G)
    for code, own in row.by_paper.items():
        for column, value in own.items():
            name, factor = factors[column]
            kept[f"{name}:{code}"] = _whole(value, factor)
    as_entered = row.as_entered if "rate_unit" in row.as_entered or "volume" in row.as_entered else {}
    again = ("rate", "capacity", "size", "width")
    kept |= {name: value for name, value in as_entered.items() if name.split(":")[0].removesuffix("_unit") in again}
    return kept
