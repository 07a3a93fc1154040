"""The base of every form of the house: what was put in wrongly is said with the field's own label.

``class CloseForm(HouseForm)`` is all that a form has to do.  A sentence that a form or a field gives itself stays.
"""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

CHOOSE = _("%(label)s: choose one of the list.")
#: (kind of field, code of the error) → sentence; the first kind that fits counts.
SENTENCES: list[tuple[type[forms.Field], dict[str, str | Promise]]] = [
    (forms.BooleanField, {"required": _("%(label)s: tick this to go on.")}),
    (forms.ChoiceField, {"required": CHOOSE, "invalid_choice": CHOOSE}),
    (forms.ModelChoiceField, {"required": CHOOSE, "invalid_choice": CHOOSE}),
    (forms.DateTimeField, {"invalid": _("%(label)s: write a day and a time, such as 2026-11-27 14:45.")}),
    (forms.DateField, {"invalid": _("%(label)s: write a day, such as 2026-11-27.")}),
    (forms.TimeField, {"invalid": _("%(label)s: write a time, such as 14:45.")}),
    (forms.EmailField, {"invalid": _("%(label)s: write a whole address, such as name@example.org.")}),
    (
        forms.DecimalField,
        {
            "invalid": _("%(label)s: write a number."),
            "max_decimal_places": _("%(label)s: at most %(max)s digits after the point."),
        },
    ),
    (forms.FloatField, {"invalid": _("%(label)s: write a number.")}),
    (forms.IntegerField, {"invalid": _("%(label)s: write a whole number.")}),
    (
        forms.Field,
        {
            "required": _("%(label)s: this is missing."),
            "invalid": _("%(label)s: this cannot be read; look at it again."),
            "max_length": _("%(label)s: at most %(limit_value)s characters, and here are %(show_value)s."),
            "min_value": _("%(label)s: at least %(limit_value)s."),
            "max_value": _("%(label)s: at most %(limit_value)s."),
            "null_characters_not_allowed": _("%(label)s: there is a character in it that cannot be kept."),
        },
    ),
]


def sentence(field: forms.Field, code: str) -> str | Promise | None:
    for kind, found in SENTENCES:
        if isinstance(field, kind) and code in found:
            return found[code]
    return None


def own_words(field: forms.Field) -> set[str]:
    """The codes for which this very field was given a sentence of its own."""
    usual: dict[str, Any] = {}
    for kind in reversed(type(field).__mro__):
        usual.update(getattr(kind, "default_error_messages", {}))
    return {code for code, words in field.error_messages.items() if words != usual.get(code)}


class HouseForm(forms.Form):
    """A form whose complaints name the field."""

    def add_error(self, field: str | None, error: Any) -> None:
        if field is not None and isinstance(error, ValidationError) and hasattr(error, "error_list"):
            error = ValidationError([self._with_label(field, one) for one in error.error_list])
        super().add_error(field, error)

    def _with_label(self, name: str, error: ValidationError) -> ValidationError:
        field, code = self.fields[name], str(error.code or "")
        words = None if code in own_words(field) else sentence(field, code)
        if words is None:
            return error
        return ValidationError(words, code=code, params={**(error.params or {}), "label": self[name].label})
