"""Turns requests about people into values."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from studiodesk.house_forms import HouseForm
from studiodesk.journal.words import TOPIC_WORDS

from . import queries, rules
from .models import HouseKey, Member, MembershipPlan

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


class KeyForm(HouseForm):
    code = forms.RegexField(
        r"^(?!(?:new|\.{1,2})$)[\w.\-]+$",
        label=_("Name"),
        max_length=30,
        error_messages={"invalid": _("Name: letters, digits, dots and dashes without gaps, and not the word “new”.")},
        help_text=_("What is written on it, for instance K-07. Letters, digits, dots and dashes."),
    )
    sort = forms.ChoiceField(
        label=_("What it is"), choices=[(HouseKey.Sort.KEY, _("Key")), (HouseKey.Sort.FOB, _("Fob"))]
    )
    opens = forms.CharField(
        label=_("Opens"), max_length=120, required=False, help_text=_("For instance: front door and darkroom.")
    )


class HandOutForm(HouseForm):
    """``keys`` are all of the house, with their open loans: one that has gone meanwhile is said with whom it is."""

    key = forms.ChoiceField(label=_("Key or fob"))
    number = forms.CharField(
        label=_("To whom, by member number"), max_length=30, widget=forms.TextInput(attrs={"autocomplete": "off"})
    )

    def __init__(self, *args: Any, keys: list[HouseKey], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.rows = {key.code: key for key in keys}
        asked = str(self.data.get("key", ""))
        shown = [key for key in keys if queries.is_at_hand(key) or key.code == asked]
        choices = [(key.code, f"{key.code}, {key.opens}" if key.opens else key.code) for key in shown]
        self.fields["key"].choices = [("", _("Choose")), *choices]  # type: ignore[attr-defined]

    def clean_key(self) -> HouseKey:
        return self.rows[self.cleaned_data["key"]]

    def clean_number(self) -> Member:
        number = self.cleaned_data["number"].strip()
        person = queries.by_number(number)
        if person is None:
            raise ValidationError(gettext("Nobody here has the number %(number)s.") % {"number": number})
        return person


class LettersForm(HouseForm):
    """A tick for each topic of letters that somebody may do without."""

    def __init__(self, *args: Any, wants: Mapping[str, bool], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for topic, wanted in wants.items():
            label, what = TOPIC_WORDS[topic]
            self.fields[topic] = forms.BooleanField(label=label, help_text=what, required=False, initial=wanted)

    def wanted(self) -> dict[str, bool]:
        return {topic: bool(self.cleaned_data.get(topic)) for topic in self.fields}


def day_field(label: Any, *, required: bool = True, help_text: Any = "") -> forms.DateField:
    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    return forms.DateField(label=label, required=required, widget=widget, help_text=help_text)


class PlanForm(HouseForm):
    name = forms.CharField(label=_("Name"), max_length=120, help_text=_("For instance: Monthly, evenings only."))
    code = forms.RegexField(
        r"^[\w.\-]+$",
        label=_("Code"),
        max_length=30,
        error_messages={"invalid": _("Code: letters, digits, dots and dashes without gaps.")},
        help_text=_("By which files name it, for instance evenings. It stays as it is."),
    )
    is_day_pass = forms.BooleanField(
        label=_("It is a day pass"), required=False, help_text=_("Given for a single day, in one tap.")
    )


class MembershipForm(HouseForm):
    """``plans``: those that can be given."""

    plan = forms.ChoiceField(label=_("Membership"))
    first_day = day_field(_("First day"))
    last_day = day_field(_("Last day"), required=False, help_text=_("Without one it goes on until somebody ends it."))

    def __init__(self, *args: Any, plans: list[MembershipPlan], today: date, **kwargs: Any) -> None:
        super().__init__(*args, initial={"first_day": today}, **kwargs)
        self.plans = {plan.code: plan for plan in plans}
        choices = [(plan.code, plan.name) for plan in plans]
        self.fields["plan"].choices = choices if len(choices) == 1 else [("", _("Choose")), *choices]  # type: ignore[attr-defined]

    @property
    def plan_row(self) -> MembershipPlan:
        return self.plans[self.cleaned_data["plan"]]


class EndMembershipForm(HouseForm):
    on = day_field(_("Its last day"), help_text=_("They can still come on that day."))


class ContactForm(HouseForm):
    phone = forms.CharField(
        label=_("Telephone"),
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"type": "tel", "autocomplete": "tel"}),
    )
    emergency_name = forms.CharField(
        label=_("Whom to call in an emergency"),
        max_length=120,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        help_text=_("Somebody who is not here with you. Ask them first."),
    )
    emergency_phone = forms.CharField(
        label=_("Their telephone"),
        max_length=40,
        required=False,
        widget=forms.TextInput(attrs={"type": "tel", "autocomplete": "off"}),
    )


class FactsForm(ContactForm):
    """What staff write down of somebody: the same, and the birthday."""

    born_on = day_field(_("Born on"), required=False, help_text=_("Only of whoever may be under age."))
    field_order = ("born_on", "phone", "emergency_name", "emergency_phone")


#: On which field of a membership's form a refusal is shown; the others stand above it.
FIELD_OF = {
    "people.plan_not_in_use": "plan",
    "people.membership_ends_first": "last_day",
    "people.day_pass_is_a_day": "last_day",
}
