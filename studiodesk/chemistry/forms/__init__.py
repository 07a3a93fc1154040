"""Turns requests about sheets and baths into the acts' values."""

from .alerts import ClearForm, PutOffForm
from .base import ChemistryForm, LocalMoment
from .board import KIND_WORDS, StretchForm, TablesForm
from .entries import EntryForm
from .jobs import DoneForm, JobForm
from .sheets import (
    COUNT_WRONG,
    KINDS,
    OTHERS,
    TABLET_KINDS,
    DeskSheetsForm,
    TabletForm,
    booking_choice,
    booking_pk,
)

__all__ = [
    "COUNT_WRONG",
    "KINDS",
    "KIND_WORDS",
    "OTHERS",
    "TABLET_KINDS",
    "ChemistryForm",
    "ClearForm",
    "DeskSheetsForm",
    "DoneForm",
    "EntryForm",
    "JobForm",
    "LocalMoment",
    "PutOffForm",
    "StretchForm",
    "TablesForm",
    "TabletForm",
    "booking_choice",
    "booking_pk",
]
