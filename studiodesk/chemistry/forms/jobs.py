"""Jobs that recur: writing down that one was done, and keeping the list of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk.bookings.forms.inputs import DateInput
from studiodesk.stations.models import Job, Processor

from .base import ChemistryForm

OCCASIONS = {
    "every so many days": _("Every so many days"),
    "at opening": _("At each opening of its processor"),
    "at closing": _("At each closing of its processor"),
    "at a bath change": _("At a bath change"),
}
ASKS = {"a tick": _("Only that it was done"), "a number": _("A number that was read"), "a few words": _("A few words")}
WHO = {"keyholder": _("Keyholders and staff"), "staff": _("Staff"), "manager": _("Managers")}


class DoneForm(ChemistryForm):
    """One step or job; ``prefix`` is its code, for a page shows many."""

    value = forms.DecimalField(label=_("Read"), required=False, max_digits=9, decimal_places=3)
    note = forms.CharField(label=_("A few words"), required=False, max_length=300)

    def __init__(self, *args: Any, job: Job, **kwargs: Any) -> None:
        super().__init__(*args, prefix=f"job-{job.pk}", **kwargs)
        left_out = "left_out" in self.data
        self.fields["note"].required = job.asks == Job.Asks.WORDS and not left_out
        if job.asks != Job.Asks.NUMBER:
            del self.fields["value"]
            return
        self.fields["value"].required = not left_out
        if job.unit:
            self.fields["value"].label = _("Read, in %(unit)s") % {"unit": job.unit}


class JobForm(ChemistryForm):
    """A job as staff keep it."""

    name = forms.CharField(label=_("What is to be done"), max_length=120)
    how = forms.CharField(label=_("How"), required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3}))
    caution = forms.CharField(label=_("Caution beside it"), required=False, max_length=300)
    processor = forms.ChoiceField(label=_("Processor"), required=False)
    occasion = forms.ChoiceField(label=_("When"), choices=list(OCCASIONS.items()))
    every_days = forms.IntegerField(label=_("Every how many days"), required=False, min_value=1, max_value=3660)
    first_day = forms.DateField(label=_("For the first time on"), required=False, widget=DateInput())
    position = forms.IntegerField(label=_("Place in its list"), required=False, min_value=0, max_value=999)
    who = forms.ChoiceField(label=_("Who may do it"), choices=list(WHO.items()))
    asks = forms.ChoiceField(label=_("What is written down"), choices=list(ASKS.items()))
    unit = forms.CharField(label=_("Unit of the number"), required=False, max_length=20)
    at_least = forms.DecimalField(label=_("At least"), required=False, max_digits=9, decimal_places=3)
    at_most = forms.DecimalField(label=_("At most"), required=False, max_digits=9, decimal_places=3)
    in_use = forms.BooleanField(label=_("It is done"), required=False, initial=True)

    def __init__(self, *args: Any, processors: Sequence[Processor], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.processors = {one.code: one for one in processors}
        self.fields["processor"].choices = [
            ("", _("The house itself")),
            *((one.code, one.name) for one in self.processors.values()),
        ]

    def values(self) -> dict[str, Any]:
        """The act's arguments but for the code."""
        data = dict(self.cleaned_data)
        data["processor"] = self.processors.get(data["processor"])
        data["position"] = data["position"] or 0
        return data
