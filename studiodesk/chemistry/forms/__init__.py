"""Turns requests about sheets and baths into the acts' values."""

from .alerts import ClearForm, PutOffForm
from .base import ChemistryForm, LocalMoment
from .board import KIND_WORDS, StretchForm, TablesForm
from .entries import EntryForm
from .jobs import DoneForm, JobForm
from .mixing import AmountForm, ContainerForm, EmptyForm, LevelForm, MixForm, MoveForm
from .recipes import RecipeForm
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
from .stock import AwayForm, CountForm, DeliveryForm, ProductForm

__all__ = [
    "COUNT_WRONG",
    "KINDS",
    "KIND_WORDS",
    "OTHERS",
    "TABLET_KINDS",
    "AmountForm",
    "AwayForm",
    "ChemistryForm",
    "ClearForm",
    "ContainerForm",
    "CountForm",
    "DeliveryForm",
    "DeskSheetsForm",
    "DoneForm",
    "EmptyForm",
    "EntryForm",
    "JobForm",
    "LevelForm",
    "LocalMoment",
    "MixForm",
    "MoveForm",
    "ProductForm",
    "PutOffForm",
    "RecipeForm",
    "StretchForm",
    "TablesForm",
    "TabletForm",
    "booking_choice",
    "booking_pk",
]
