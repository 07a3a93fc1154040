"""A rule's number as its form asks for it: by what it is counted in."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from studiodesk.house_forms import HouseForm
from studiodesk.people.models import MembershipPlan

from ..rules.house import Kind
from ..rules.setting import as_clock
from ..words.rules import WEEKDAYS

_CLOCK = re.compile(r"(\d{1,2})[:.](\d{2})", re.ASCII)
#: On which field of the form a refusal is shown; the others stand above it.
FIELD_OF = {
    "bookings.rule_in_the_past": "in_force_from",
    "bookings.rule_out_of_range": "number",
    "bookings.rule_needs_a_number": "number",
    "bookings.rule_for_everybody": "plan",
}
FOR_WHOM = _("A membership that is given a number of its own no longer follows what holds for everybody.")
UNITS = {
    "hours": _("Hours"),
    "days": _("Days"),
    "minutes": _("Minutes"),
    "years": _("Years"),
    "people": _("People"),
    "bookings": _("Bookings"),
    "times": _("Times"),
    "clock": _("Time of day"),
    "weekdays": _("Days of the week"),
    "yes": _("Yes or no"),
}


def _number_field(kind: Kind) -> forms.Field:
    """The field for the number itself.  Its value is made whole in ``clean_number``."""
    label = UNITS[kind.unit]
    if kind.unit == "yes":
        return forms.ChoiceField(label=label, choices=[("1", _("Yes")), ("0", _("No"))], widget=forms.RadioSelect)
    if kind.unit == "weekdays":
        days = [(str(1 << number), day) for number, day in enumerate(WEEKDAYS)]
        return forms.MultipleChoiceField(label=label, choices=days, required=False, widget=forms.CheckboxSelectMultiple)
    if kind.unit == "clock":
        return forms.CharField(label=label, max_length=5, help_text=_("Such as 17:00; 24:00 is the end of the day."))
    return forms.IntegerField(label=label, min_value=kind.least, max_value=kind.most, required=not kind.may_be_none)


class RuleForm(HouseForm):
    """``value``: what holds now for everybody, to begin with."""

    in_force_from = forms.DateField(
        label=_("From which day"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )

    def __init__(
        self, *args: Any, kind: Kind, plans: list[MembershipPlan], value: int | None, today: date, **kwargs: Any
    ) -> None:
        super().__init__(*args, initial={"in_force_from": today, "number": self._shown(kind, value)}, **kwargs)
        self.kind = kind
        self.plans = {plan.code: plan for plan in plans} if kind.by_plan else {}
        if self.plans:
            choices = [("", _("Everybody"))]
            choices += [(plan.code, plan.name) for plan in self.plans.values()]
            self.fields["plan"] = forms.ChoiceField(
                label=_("For whom"), choices=choices, required=False, help_text=FOR_WHOM
            )
        self.fields["number"] = _number_field(kind)
        if kind.may_be_none:
            self.fields["no_limit"] = forms.BooleanField(label=_("No limit"), required=False, initial=value is None)
        self.order_fields(["plan", "number", "no_limit", "in_force_from"])

    @staticmethod
    def _shown(kind: Kind, value: int | None) -> Any:
        if value is None:
            return None
        if kind.unit == "clock":
            return as_clock(value)
        return [str(1 << bit) for bit in range(7) if value & (1 << bit)] if kind.unit == "weekdays" else value

    def clean_number(self) -> int | None:
        written = self.cleaned_data["number"]
        if self.kind.unit == "weekdays":
            return sum(int(day) for day in written)
        if self.kind.unit != "clock":
            return None if written in {None, ""} else int(written)
        found = _CLOCK.fullmatch(written.strip())
        minutes = int(found[1]) * 60 + int(found[2]) if found and int(found[2]) < 60 else -1
        if not 0 <= minutes <= 24 * 60:
            raise ValidationError(_("Time of day: write a time, such as 17:00 or 24:00."))
        return minutes

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if data.get("no_limit"):
            # What was typed beside the tick does not count, however it was written.
            self.errors.pop("number", None)
            data["number"] = None
        elif "number" in data and data["number"] is None:
            self.add_error("number", _("Write a number, or tick “No limit”."))
        return data

    @property
    def plan_row(self) -> MembershipPlan | None:
        return self.plans.get(self.cleaned_data.get("plan", ""))

    @property
    def value(self) -> int | None:
        value: int | None = self.cleaned_data["number"]
        return value
