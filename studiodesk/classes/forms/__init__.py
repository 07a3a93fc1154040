"""Turns requests about classes into values."""

from .dates import CallOffForm, DatesForm, MoveForm, TutorForm
from .outlines import OutlineForm
from .places import AddressForm, NamesForm, NeedForm, PassOnForm, ShrinkForm, SignUpForm, TallyForm

__all__ = [
    "AddressForm",
    "CallOffForm",
    "DatesForm",
    "MoveForm",
    "NamesForm",
    "NeedForm",
    "OutlineForm",
    "PassOnForm",
    "ShrinkForm",
    "SignUpForm",
    "TallyForm",
    "TutorForm",
]
