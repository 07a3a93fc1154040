"""Which lines of a bath's book, from when until when."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from studiodesk.house_forms import HouseForm
from studiodesk.timekeeping import day_span

from ..queries.board_book import ANY, KINDS
from .base import YEARS, ChemistryForm, LocalMoment

KIND_WORDS = {
    "any": _("Everything"),
    "sheets": _("Sheets through"),
    "changes": _("Filled, dumped, bottled"),
    "given": _("Replenishment given by hand"),
    "start-up": _("Asked at opening"),
    "working-solution": _("Working solution added"),
    "water": _("Water added"),
    "lost": _("Spilled or leaked"),
    "strips": _("Silver strips"),
    "judged": _("Called spent or contaminated"),
    "notes": _("Notes"),
}


class Moment(LocalMoment):
    """Also a moment with its offset, as a figure's link gives it: exact to the microsecond."""

    def to_python(self, value: Any) -> datetime | None:
        try:
            written = datetime.fromisoformat(str(value))
        except ValueError:
            return super().to_python(value)
        if written.tzinfo is None:
            return super().to_python(value)
        if written.year not in YEARS:
            raise ValidationError(_("Check the year: 1900 to 2200."))
        return written.astimezone(UTC)


class StretchForm(ChemistryForm):
    """``from`` and ``until``: the first inside, the second not."""

    kind = forms.ChoiceField(label=_("What"), required=False, choices=[(kind, KIND_WORDS[kind]) for kind in KINDS])

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        # "from" is no name for a class attribute.
        self.fields["from"] = Moment(label=_("From"), required=False)
        self.fields["until"] = Moment(label=_("Until"), required=False)

    def clean(self) -> dict[str, Any]:
        chosen = super().clean() or self.cleaned_data
        starts, ends = chosen.get("from"), chosen.get("until")
        if starts and ends and ends <= starts:
            self.add_error("until", _("The end comes before the beginning."))
        return chosen

    @property
    def chosen(self) -> tuple[str, datetime | None, datetime | None]:
        """(kind, from, until); what could not be read is left out."""
        data = self.cleaned_data if self.is_bound else {}
        return data.get("kind") or ANY, data.get("from"), data.get("until")


class TablesForm(HouseForm):
    """For which days tables are wanted, the last day with them; empty: from the first day, to this day."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, label in (("from", _("First day")), ("until", _("Last day"))):
            widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
            self.fields[name] = forms.DateField(label=label, required=False, widget=widget)

    def clean(self) -> dict[str, Any]:
        chosen = super().clean() or self.cleaned_data
        first, last = chosen.get("from"), chosen.get("until")
        for name, day in (("from", first), ("until", last)):
            if day is not None and day.year not in YEARS:
                self.add_error(name, _("Check the year: 1900 to 2200."))
        if first and last and last < first:
            self.add_error("until", _("The last day comes before the first."))
        return chosen

    def stretch(self, zone: ZoneInfo) -> tuple[datetime | None, datetime | None]:
        first, last = self.cleaned_data.get("from"), self.cleaned_data.get("until")
        return day_span(first, zone).starts if first else None, day_span(last, zone).ends if last else None

    @property
    def query(self) -> str:
        """The days as an address carries them on; "" if none is named."""
        named = {name: day.isoformat() for name in ("from", "until") if (day := self.cleaned_data.get(name))}
        return f"?{urlencode(named)}" if named else ""
