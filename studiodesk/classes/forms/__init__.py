"""Turns requests about classes into values."""

from .dates import CallOffForm, DatesForm, MoveForm, TutorForm
from .hires import GroupForm, HireForm, QuoteForm
from .outlines import OutlineForm
from .places import AddressForm, NamesForm, NeedForm, NotesForm, PassOnForm, ShrinkForm, SignUpForm, TallyForm

__all__ = [
    "AddressForm",
    "CallOffForm",
    "DatesForm",
    "GroupForm",
    "HireForm",
    "MoveForm",
    "NamesForm",
    "NeedForm",
    "NotesForm",
    "OutlineForm",
    "PassOnForm",
    "QuoteForm",
    "ShrinkForm",
    "SignUpForm",
    "TallyForm",
    "TutorForm",
]
