"""Turns requests about classes into values."""

from .dates import CallOffForm, DatesForm, MoveForm, TutorForm
from .hires import GroupForm, HireForm, QuoteForm
from .outlines import OutlineForm
from .places import AddressForm, NamesForm, NeedForm, PassOnForm, ShrinkForm, SignUpForm, TallyForm

__all__ = [
    "AddressForm",
    "CallOffForm",
    "DatesForm",
    "GroupForm",
    "HireForm",
    "MoveForm",
    "NamesForm",
    "NeedForm",
    "OutlineForm",
    "PassOnForm",
    "QuoteForm",
    "ShrinkForm",
    "SignUpForm",
    "TallyForm",
    "TutorForm",
]
