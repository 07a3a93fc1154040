"""Areas and edges as the house writes them: m² and mm, or ft² and in.  The factors are exact (see ``units``)."""

from __future__ import annotations

from decimal import Decimal

from django.utils.formats import number_format
from django.utils.translation import gettext

from . import manner
from .units import MM2_PER_FT2, MM2_PER_M2, MM_PER_INCH


def mm2_per_unit() -> Decimal:
    """How many mm² the house's unit of area has."""
    return MM2_PER_FT2 if manner.current().inches else Decimal(MM2_PER_M2)


def area_unit() -> str:
    return gettext("ft²") if manner.current().inches else gettext("m²")


def area_with_unit(figure: str) -> str:
    """ "3.2 m²" of a figure that counts the house's unit already."""
    return (
        gettext("%(figure)s ft²") % {"figure": figure}
        if manner.current().inches
        else gettext("%(figure)s m²") % {"figure": figure}
    )


def area_words(mm2: float, places: int = 1) -> str:
    """mm² as "3.2 m²" or "34.4 ft²"."""
    units = (Decimal(mm2) / mm2_per_unit()).quantize(Decimal(1).scaleb(-places))
    return area_with_unit(number_format(units, decimal_pos=places, use_l10n=True, force_grouping=True))


def edge_words(mm: int) -> str:
    """One edge: "254 mm" or "10 in" (hundredths of an inch at most)."""
    if not manner.current().inches:
        return gettext("%(figure)s mm") % {"figure": mm}
    return gettext("%(figure)s in") % {"figure": _inches(mm)}


def edges_words(width_mm: int, length_mm: int) -> str:
    """Two edges: "203 × 254 mm" or "8 × 10 in"."""
    if not manner.current().inches:
        return gettext("%(width)s × %(length)s mm") % {"width": width_mm, "length": length_mm}
    return gettext("%(width)s × %(length)s in") % {"width": _inches(width_mm), "length": _inches(length_mm)}


def run_words(mm: int) -> str:
    """A length of a roll: "1.5 m" or "59.06 in"."""
    if not manner.current().inches:
        return gettext("%(figure)s m") % {"figure": number_format(Decimal(mm) / 1000)}
    return edge_words(mm)


def _inches(mm: int) -> str:
    return str(number_format((Decimal(mm) / MM_PER_INCH).quantize(Decimal("0.01")).normalize() + 0))
