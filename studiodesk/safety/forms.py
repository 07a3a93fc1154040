from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from studiodesk.house_forms import HouseForm
from studiodesk.people.models import Member
from studiodesk.people.queries import people
from studiodesk.stations.models import Process

from . import rules


class NoteForm(HouseForm):
    title = forms.CharField(label=_("Title"), max_length=200)
    body = forms.CharField(
        label=_("The note"),
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 24}),
        help_text=_("An empty line parts paragraphs; lines that begin with a dash and a space become a list."),
    )
    news = forms.CharField(
        label=_("What is new"),
        max_length=300,
        required=False,
        help_text=_("One or two sentences for whoever has read the note before. They stand at its top."),
    )
    field_order = ("title", "news", "body")


class ReadForm(HouseForm):
    """Which version was on the page when the button was pressed."""

    version = forms.IntegerField(min_value=1, max_value=2_000_000_000)


class WhatForm(HouseForm):
    """A kind of station or a process, chosen from one list."""

    what = forms.ChoiceField(label=_("For what"))

    def __init__(self, *args: Any, kinds: list[str], processes: list[Process], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.processes = {process.code: process for process in processes}
        self.fields["what"].choices = [  # type: ignore[attr-defined]
            ("", _("Choose")),
            (_("A kind of station"), [(f"kind {kind}", kind) for kind in kinds]),
            (_("A process"), [(f"process {one.code}", one.name) for one in processes]),
        ]

    def of(self) -> dict[str, Any]:
        """``kind`` and ``process`` as the acts ask for them."""
        sort, _space, name = self.cleaned_data["what"].partition(" ")
        return {"kind": name, "process": None} if sort == "kind" else {"kind": "", "process": self.processes[name]}


class SignOffForm(WhatForm):
    who = forms.CharField(
        label=_("Who"), max_length=30, help_text=_("Their number, as it stands on their page and their letters.")
    )
    field_order = ("who", "what")

    def clean_who(self) -> Member:
        found = people().filter(number__iexact=self.cleaned_data["who"].strip()).first()
        if found is None:
            raise ValidationError(_("Nobody here has this number."))
        return found


class NeedForm(WhatForm):
    lasts_days = forms.IntegerField(
        label=_("It lasts, days"),
        min_value=1,
        max_value=rules.MOST_DAYS,
        required=False,
        help_text=_("Empty: a sign-off does not run out."),
    )


#: On which field of a form a refusal is shown; the others stand above it.
FIELD_OF = {
    "safety.not_for_yourself": "who",
    "safety.has_left": "who",
    "safety.lasts_from_to": "lasts_days",
    "safety.no_such_kind": "what",
}
