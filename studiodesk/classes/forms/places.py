"""Forms of whoever signs up: for how many, who they are, what the tutor has to know."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from studiodesk.house_forms import HouseForm
from studiodesk.people.models import Member

from ..models import Place
from ..rules.places import MOST_HEADS


class SignUpForm(HouseForm):
    """``member`` None: somebody without an account, who says who they are.

    ``minimum_age`` is asked of whoever's birthday nobody knows; None: not asked.
    """

    heads = forms.IntegerField(label=_("For how many people"), min_value=1, max_value=MOST_HEADS, initial=1)
    name = forms.CharField(label=_("Your name"), max_length=120, widget=forms.TextInput(attrs={"autocomplete": "name"}))
    email = forms.EmailField(
        label=_("Your e-mail address"),
        max_length=254,
        help_text=_("We write to it at once; the link in that letter confirms the place."),
        widget=forms.EmailInput(attrs={"autocomplete": "email"}),
    )
    adult_name = forms.CharField(
        label=_("Adult who comes along"),
        max_length=120,
        required=False,
        help_text=_("For anybody who is not yet 18."),
    )
    old_enough = forms.BooleanField()
    wait = forms.BooleanField(label=_("If it is full, wait in line"), required=False, initial=True)

    def __init__(
        self, *args: Any, member: Member | None, under_age: bool, minimum_age: int | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        if minimum_age is None:
            del self.fields["old_enough"]
        else:
            words = _("Everybody who comes is %(age)s or older on the first day") % {"age": minimum_age}
            self.fields["old_enough"].label = words
        if member is not None:
            del self.fields["name"], self.fields["email"]
            if not under_age:
                del self.fields["adult_name"]

    @property
    def values(self) -> dict[str, Any]:
        """As ``sign_up`` takes them."""
        names = ("heads", "name", "email", "adult_name", "wait")
        return {name: self.cleaned_data[name] for name in names if name in self.cleaned_data}


class AddressForm(HouseForm):
    email = forms.EmailField(label=_("The right address"), max_length=254)


class NamesForm(HouseForm):
    """One field for each seat."""

    def __init__(self, *args: Any, place: Place, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.numbers = []
        for number, seat in enumerate(place.seats.order_by("number"), 1):
            self.numbers.append(number)
            self.fields[f"name_{number}"] = forms.CharField(
                label=_("Person %(number)s") % {"number": number}, max_length=120, required=False, initial=seat.name
            )

    @property
    def names(self) -> list[str]:
        return [self.cleaned_data[f"name_{number}"] for number in self.numbers]


class NeedForm(HouseForm):
    words = forms.CharField(
        label=_("What the tutor has to know"),
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_(
            "Allergies, or what somebody needs to get in, to see or to hear. Only whoever teaches reads it, and it is "
            "deleted fourteen days after."
        ),
    )


class PassOnForm(HouseForm):
    whom = forms.CharField(
        label=_("Their member number or e-mail address"),
        max_length=254,
        help_text=_("They have to be a member. The place is theirs at once, and both of you get a letter."),
    )


class ShrinkForm(HouseForm):
    heads = forms.IntegerField(label=_("How many of you still come"), min_value=1, max_value=MOST_HEADS)


class NotesForm(HouseForm):
    notes = forms.CharField(label=_("Notes"), required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 4}))


class TallyForm(HouseForm):
    came = forms.IntegerField(label=_("How many came so far"), min_value=0, max_value=2000)
    inside = forms.IntegerField(label=_("How many of them are in now"), min_value=0, max_value=2000)
