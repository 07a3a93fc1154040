"""A line of trays, opened or closed in one form."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from ..models import Bath
from ..queries.sources import Source
from ..rules.standing import TIRED_FROM, Standing
from .base import ChemistryForm

AT_OPENING = {
    "fresh": _("Filled afresh"),
    "from its bottle": _("Poured out of its bottle"),
    "stands": _("As it stands"),
}
NAMES = ("what", "source", "note")
AT_CLOSING = {
    "into its bottle": _("Poured back into its bottle"),
    "away": _("Poured away"),
    "stands": _("As it stands"),
}


class TraysForm(ChemistryForm):
    """For each bath what is done with it, and from which lots or into which bottle."""

    def __init__(
        self,
        *args: Any,
        baths: Sequence[tuple[Bath, Standing]],
        closing: bool,
        sources: Mapping[int, Sequence[Source]] | None = None,
        **kwargs: Any,
    ) -> None:
        """``sources``: by the bath's key, where it can be filled afresh from."""
        super().__init__(*args, **kwargs)
        self.closing, self.baths = closing, list(baths)
        self.sources = {pk: {one.value: one for one in many} for pk, many in (sources or {}).items()}
        for bath, stands in self.baths:
            choices, usual = _choices(stands, closing)
            self.fields[f"what-{bath.pk}"] = forms.ChoiceField(
                label=_("%(bath)s: what is done") % {"bath": bath.name},
                choices=choices,
                initial=usual,
                widget=forms.RadioSelect,
            )
            found = self.sources.get(bath.pk, {})
            if found and not closing:
                self.fields[f"source-{bath.pk}"] = forms.ChoiceField(
                    label=_("%(bath)s: if afresh, from") % {"bath": bath.name},
                    required=False,
                    choices=[("", _("Not said")), *((value, str(one)) for value, one in found.items())],
                )
            self.fields[f"note-{bath.pk}"] = forms.CharField(
                label=_("%(bath)s: lots, or mark of the bottle") % {"bath": bath.name}, required=False, max_length=300
            )

    def rows(self) -> list[dict[str, Any]]:
        """Each bath with its two fields, for the page."""
        return [
            {
                "bath": bath,
                "stands": stands,
                "fields": [self[f"{name}-{bath.pk}"] for name in NAMES if f"{name}-{bath.pk}" in self.fields],
            }
            for bath, stands in self.baths
        ]

    def values(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "what": {bath.pk: data[f"what-{bath.pk}"] for bath, _stands in self.baths},
            "notes": {bath.pk: data[f"note-{bath.pk}"] for bath, _stands in self.baths},
            "sources": {
                pk: {"container": chosen.container, "mix": chosen.mix}
                for pk, found in self.sources.items()
                if (chosen := found.get(data.get(f"source-{pk}") or "")) is not None
            },
        }


def _choices(stands: Standing, closing: bool) -> tuple[list[tuple[str, Any]], str]:
    """What can be done with a bath as it stands, and what usually is."""
    if closing:
        known, usual = dict(AT_CLOSING), "into its bottle"
        if stands.is_empty or stands.bottled_at is not None:
            return [("stands", known["stands"])], "stands"
        if stands.used >= 1 or stands.dumped_at_closing:
            usual = "away"
        return list(known.items()), usual
    known = dict(AT_OPENING)
    if stands.bottled_at is None:
        del known["from its bottle"]
    if stands.is_empty:
        del known["stands"]
    if stands.used >= 1 or stands.is_empty:
        return list(known.items()), "fresh"
    if stands.used >= TIRED_FROM:
        return list(known.items()), ""  # it may be enough for tonight, or not: nobody decides that but a person
    return list(known.items()), "from its bottle" if "from its bottle" in known else "stands"
