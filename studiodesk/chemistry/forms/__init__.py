"""Turns requests about sheets and baths into the acts' values."""

from .alerts import ClearForm, PutOffForm
from .base import ChemistryForm, LocalMoment
from .board import KIND_WORDS, StretchForm, TablesForm
from .entries import EntryForm
from .figures import FiguresForm, figures_written
from .jobs import DoneForm, JobForm
from .mixing import AmountForm, ContainerForm, EmptyForm, LevelForm, MixForm, MoveForm
from .paper import PaperForm, SizeForm
from .pumps import BottleForm, NewBottleForm, PumpForm, RotateForm
from .recipes import RecipeForm
from .sheets import COUNT_WRONG, KINDS, OTHERS, TABLET_KINDS, DeskSheetsForm, TabletForm, booking_choice, booking_pk
from .stock import AwayForm, CountForm, DeliveryForm, ProductForm
from .strips import AimsForm, StripForm
from .trays import TraysForm
from .waste import ConnectForm, PermitForm, PickUpForm, PourForm, StreamForm, WasteContainerForm, WasteLevelForm

__all__ = [
    "COUNT_WRONG",
    "KINDS",
    "KIND_WORDS",
    "OTHERS",
    "TABLET_KINDS",
    "AimsForm",
    "AmountForm",
    "AwayForm",
    "BottleForm",
    "ChemistryForm",
    "ClearForm",
    "ConnectForm",
    "ContainerForm",
    "CountForm",
    "DeliveryForm",
    "DeskSheetsForm",
    "DoneForm",
    "EmptyForm",
    "EntryForm",
    "FiguresForm",
    "JobForm",
    "LevelForm",
    "LocalMoment",
    "MixForm",
    "MoveForm",
    "NewBottleForm",
    "PaperForm",
    "PermitForm",
    "PickUpForm",
    "PourForm",
    "ProductForm",
    "PumpForm",
    "PutOffForm",
    "RecipeForm",
    "RotateForm",
    "SizeForm",
    "StreamForm",
    "StretchForm",
    "StripForm",
    "TablesForm",
    "TabletForm",
    "TraysForm",
    "WasteContainerForm",
    "WasteLevelForm",
    "booking_choice",
    "booking_pk",
    "figures_written",
]
