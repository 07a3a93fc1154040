"""Turns requests about sheets and baths into the acts' values."""

from .alerts import ClearForm, PutOffForm
from .base import ChemistryForm, LocalMoment
from .board import KIND_WORDS, StretchForm, TablesForm
from .entries import EntryForm
from .figures import FiguresForm, figures_written
from .jobs import DoneForm, JobForm
from .paper import PaperForm, SizeForm
from .pumps import BottleForm, NewBottleForm, PumpForm, RotateForm
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
from .strips import AimsForm, StripForm
from .trays import TraysForm
from .waste import ConnectForm, LevelForm, PermitForm, PickUpForm, PourForm, StreamForm, WasteContainerForm

__all__ = [
    "COUNT_WRONG",
    "KINDS",
    "KIND_WORDS",
    "OTHERS",
    "TABLET_KINDS",
    "AimsForm",
    "BottleForm",
    "ChemistryForm",
    "ClearForm",
    "ConnectForm",
    "DeskSheetsForm",
    "DoneForm",
    "EntryForm",
    "FiguresForm",
    "JobForm",
    "LevelForm",
    "LocalMoment",
    "NewBottleForm",
    "PaperForm",
    "PermitForm",
    "PickUpForm",
    "PourForm",
    "PumpForm",
    "PutOffForm",
    "RotateForm",
    "SizeForm",
    "StreamForm",
    "StretchForm",
    "StripForm",
    "TablesForm",
    "TabletForm",
    "TraysForm",
    "WasteContainerForm",
    "booking_choice",
    "booking_pk",
    "figures_written",
]
