"""Control strips: readings and looks, and the aims that they are held against."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from ..models import SheetSize, StripAim
from ..rules.strips import SPREAD, Aim
from ..words.strips import EYES
from .base import ChemistryForm, LocalMoment

Key = tuple[str, str]
LIMITS = ("action_below", "action_above", "control_below", "control_above")


class Density(forms.DecimalField):
    """A decimal with a point or a comma, signed."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_digits=6, decimal_places=4, required=False, widget=forms.TextInput(), **kwargs)
        self.widget.attrs["inputmode"] = "decimal"

    def to_python(self, value: Any) -> Decimal | None:
        if isinstance(value, str):
            value = value.strip().replace(",", ".").replace("−", "-")
        return super().to_python(value)


def field_name(key: Key) -> str:
    return f"read:{key[0]}:{key[1]}"


class StripForm(ChemistryForm):
    """``aims``: which patches and channels are asked for."""

    at = LocalMoment(label=_("When it went through"))
    eye = forms.ChoiceField(label=_("Beside its reference"), required=False, widget=forms.RadioSelect)
    nothing_to_print = forms.BooleanField(label=_("So bad that nothing should be printed now"), required=False)
    sheet = forms.ChoiceField(
        label=_("Log it as a sheet of"), required=False, help_text=_("Leave it empty if it is logged already.")
    )
    note = forms.CharField(label=_("Note"), required=False, max_length=500)

    def __init__(self, *args: Any, aims: Mapping[Key, Aim], sizes: Sequence[SheetSize], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.keys = [key for key, aim in aims.items() if aim.aim is not None]
        for key in self.keys:
            label = _("%(patch)s, %(channel)s") % {"patch": key[0], "channel": key[1]}
            aim = _("Aim %(aim)s") % {"aim": f"{aims[key].aim:f}".rstrip("0").rstrip(".")}
            self.fields[field_name(key)] = Density(label=label, help_text=aim)
        self.fields["eye"].choices = [("", _("Not judged by eye")), *EYES.items()]
        self.sizes = {one.code: one for one in sizes}
        self.fields["sheet"].choices = [("", _("Nothing")), *((one.code, one.label) for one in sizes)]

    def read_fields(self) -> list[Any]:
        return [self[field_name(key)] for key in self.keys]

    def other_fields(self) -> list[Any]:
        return [self[name] for name in ("at", "eye", "nothing_to_print", "sheet", "note")]

    def values(self) -> dict[str, Any]:
        data = self.cleaned_data
        readings = {key: data[field_name(key)] for key in self.keys if data.get(field_name(key)) is not None}
        return {
            "read_at": data["at"],
            "readings": readings,
            "eye": data["eye"],
            "nothing_to_print": data["nothing_to_print"],
            "sheet": self.sizes.get(data["sheet"]),
            "note": data["note"],
        }


class AimsForm(ChemistryForm):
    """One patch: what each channel should read, and how far from it is too far.  A limit is written without a sign."""

    patch = forms.CharField(label=_("Patch"), max_length=30, help_text=_("Such as LD, or light step."))
    channels = forms.CharField(
        label=_("Channels"), max_length=60, initial="R G B", help_text=_("With spaces between them; V for grey.")
    )
    references = forms.CharField(label=_("What the reference strip reads, in the same order"), max_length=100)
    correction = Density(label=_("Correction of the batch of strips"))
    batch = forms.CharField(label=_("Batch of control strips"), required=False, max_length=60)
    action_below = Density(label=_("Action, below its aim"))
    action_above = Density(label=_("Action, above its aim"))
    control_below = Density(label=_("Control, below its aim"))
    control_above = Density(label=_("Control, above its aim"))
    spread_action = Density(label=_("Action, spread of the channels"))
    spread_control = Density(label=_("Control, spread of the channels"))
    source = forms.CharField(label=_("Where the limits come from"), max_length=200)
    since = LocalMoment(label=_("In force from"))

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        channels = (data.get("channels") or "").split()
        written = (data.get("references") or "").replace(",", ".").split()
        try:
            references = [Decimal(one) for one in written]
        except ArithmeticError:
            references = []
        if "references" in data and (
            len(references) != len(channels) or not all(one.is_finite() for one in references)
        ):
            self.add_error("references", _("Write one figure for each channel, with spaces between them."))
        if SPREAD in channels:
            self.add_error("channels", _("The spread is reckoned, not read."))
        data["read"] = dict(zip(channels, references, strict=False))
        return data

    def aims(self) -> dict[Key, dict[str, Any]]:
        """By patch and channel the columns of an aim; the spread has limits above only."""
        data = self.cleaned_data
        patch = data["patch"].strip()
        limits = {
            name: None if data[name] is None else (-abs(data[name]) if name.endswith("below") else abs(data[name]))
            for name in LIMITS
        }
        found: dict[Key, dict[str, Any]] = {
            (patch, channel): {"reference": value, "correction": data["correction"] or Decimal(0), **limits}
            for channel, value in data["read"].items()
        }
        if data["spread_action"] is not None or data["spread_control"] is not None:
            found[patch, SPREAD] = {"reference": None, "action_above": data["spread_action"],
                                    "control_above": data["spread_control"]}  # fmt: skip
        return found

    @staticmethod
    def written(rows: Iterable[StripAim]) -> dict[str, Any]:
        """The rows of one patch as the form's fields."""
        listed = list(rows)
        channels = [row for row in listed if row.channel != SPREAD]
        spread = next((row for row in listed if row.channel == SPREAD), None)
        first = channels[0]
        values: dict[str, Any] = {name: _positive(getattr(first, name)) for name in LIMITS}
        return values | {
            "patch": first.patch,
            "channels": " ".join(row.channel for row in channels),
            "references": " ".join(_plain(row.reference or Decimal(0)) for row in channels),
            "correction": _plain(first.correction) if first.correction else "",
            "batch": first.batch,
            "spread_action": _positive(spread.action_above) if spread else "",
            "spread_control": _positive(spread.control_above) if spread else "",
            "source": first.source,
        }


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}"


def _positive(value: Decimal | None) -> str:
    return "" if value is None else _plain(abs(value))
