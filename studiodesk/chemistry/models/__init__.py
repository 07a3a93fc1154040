"""Baths and their tanks, what went through them and what was given to them, and what all of that is made of."""

from .alerts import Alert
from .baths import Bath, BathEntry, BathSetting, Fill
from .mixing import Container, ContainerEntry, Mix, MixPart, Recipe, RecipeLife, RecipePart
from .paper import Feed, PaperClass, SheetSize
from .pumps import PumpCalibration
from .stock import Lot, Product, StockEntry
from .strips import ControlStrip, StripAim, StripCase, StripReading
from .waste import PickUp, WastePermit, WasteStream

__all__ = [
    "Alert",
    "Bath",
    "BathEntry",
    "BathSetting",
    "Container",
    "ContainerEntry",
    "ControlStrip",
    "Feed",
    "Fill",
    "Lot",
    "Mix",
    "MixPart",
    "PaperClass",
    "PickUp",
    "Product",
    "PumpCalibration",
    "Recipe",
    "RecipeLife",
    "RecipePart",
    "SheetSize",
    "StockEntry",
    "StripAim",
    "StripCase",
    "StripReading",
    "WastePermit",
    "WasteStream",
]
