"""So many pieces of an item, as a field."""

from __future__ import annotations

from django import forms

from studiodesk.stations.models import KitItem


def kit_name(item: KitItem) -> str:
    """The name of the field for so many of an item."""
    return f"kit-{item.pk}"


def kit_field(item: KitItem, help_text: str = "") -> forms.IntegerField:
    field = forms.IntegerField(label=item.name, min_value=0, max_value=item.pieces, required=False, help_text=help_text)
    field.widget.attrs["inputmode"] = "numeric"
    field.says_empty = True  # what is lent is never asked for, so its field needs no mark
    return field
