"""Putting an alert off and clearing one by hand: both with a reason."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk.answers import Refusal
from studiodesk.words import say

from .base import ChemistryForm, LocalMoment

FIELD_OF_ALERT = {
    "chemistry.alert_until_past": "until",
    "chemistry.alert_until_far": "until",
    "chemistry.alert_reason": "reason",
}


def _reason(help_text: object) -> forms.CharField:
    return forms.CharField(
        label=_("Why"), max_length=200, widget=forms.Textarea(attrs={"rows": 2}), help_text=help_text
    )


class _AlertForm(ChemistryForm):
    def refuse(self, refusal: Refusal) -> None:
        field = FIELD_OF_ALERT.get(refusal.code)
        self.add_error(field if field in self.fields else None, str(say(refusal)))


class PutOffForm(_AlertForm):
    until = LocalMoment(label=_("Until"), help_text=_("Then it is there again by itself."))
    reason = _reason(_("For whoever comes next: what is waited for."))


class ClearForm(_AlertForm):
    """Its own names, so that both forms can stand on one page."""

    prefix = "clear"
    reason = _reason(_("What was found out. No rule can see that this is over."))
