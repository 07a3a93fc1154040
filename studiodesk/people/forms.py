"""Turns requests about people into values."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from studiodesk.house_forms import HouseForm

from . import rules
from .models import Member

ROLE_WORDS = {
    "tutor": (_("Tutor"), _("teaches classes")),
    "keyholder": (_("Keyholder"), _("opens, closes, signs people in, logs replenishment, closes a station")),
    "staff": (_("Staff"), _("all a keyholder does, and people, tablets and safety notes")),
    "manager": (_("Manager"), _("all that staff do, and who is staff")),
}


def _email() -> forms.EmailField:
    return forms.EmailField(
        label=_("Email address"), max_length=254, widget=forms.EmailInput(attrs={"autocomplete": "username"})
    )


def _secret(label: Any, autocomplete: str, help_text: Any = "") -> forms.CharField:
    widget = forms.PasswordInput(attrs={"autocomplete": autocomplete})
    return forms.CharField(label=label, max_length=512, strip=False, widget=widget, help_text=help_text)


class LogInForm(HouseForm):
    email = _email()
    password = _secret(_("Password"), "current-password")


class ForgottenForm(HouseForm):
    email = _email()


class NewPasswordForm(HouseForm):
    """One field: the browser can show what was typed, and typing twice catches nothing that a new link does not."""

    password = _secret(
        _("New password"),
        "new-password",
        _("At least 15 characters. Every sign counts, spaces too: a few words in a row make a good one."),
    )

    def __init__(self, *args: Any, person: Member, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person

    def clean_password(self) -> str:
        password: str = self.cleaned_data["password"]
        validate_password(password, self.person)
        return password


class ChangePasswordForm(NewPasswordForm):
    field_order = ["present", "password"]
    present = _secret(_("Present password"), "current-password")

    def clean_present(self) -> str:
        present: str = self.cleaned_data["present"]
        if not self.person.check_password(present):
            raise ValidationError(_("This is not your present password."))
        return present


class RolesForm(HouseForm):
    """A tick a role; whoever may not grant a role does not see its tick, and posting it changes nothing."""

    def __init__(self, *args: Any, by: Member, before: frozenset[str] = frozenset(), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kept: frozenset[str] = frozenset()
        for role in rules.ROLES:
            if role in rules.HIGH_ROLES and not by.is_manager:
                self.kept |= before & {role}
                continue
            label, does = ROLE_WORDS[role]
            self.fields[role] = forms.BooleanField(label=label, help_text=does, required=False, initial=role in before)

    def roles(self) -> frozenset[str]:
        return self.kept | {role for role in rules.ROLES if self.cleaned_data.get(role)}


class PersonForm(RolesForm):
    name = forms.CharField(label=_("Name"), max_length=120)
    email = forms.EmailField(label=_("Email address"), max_length=254)
    number = forms.RegexField(
        r"^[\w.\-]*\d[\w.\-]*$",
        label=_("Number"),
        max_length=30,
        error_messages={"invalid": _("Number: letters, digits, dots and dashes, with at least one digit.")},
        help_text=_("The next free one stands here. Letters, digits, dots and dashes, with at least one digit."),
    )


class TabletForm(HouseForm):
    name = forms.CharField(
        label=_("Where it hangs"), max_length=60, help_text=_("For instance: dry end of the RC processor.")
    )


class CodeForm(HouseForm):
    code = forms.CharField(
        label=_("Code"),
        max_length=20,
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "autocapitalize": "characters"}),
    )
