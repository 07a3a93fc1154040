"""Quantities as integers in the smallest unit: mm, mm², pL, µL/m², µg, minor currency units.  Pure.

mm² × µL/m² is exactly pL (10⁻⁶ m² × 10⁻⁶ L/m² = 10⁻¹² L), so what a sheet asks of a bath is an exact integer and
64 bits hold 9 000 m³ of it.  Nothing is rounded here but what a person enters, once.
"""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal, InvalidOperation

PL_PER_ML = 1_000_000_000
PL_PER_NL = 1_000
PL_PER_L = 1_000 * PL_PER_ML
MM2_PER_M2 = 1_000_000
MM_PER_INCH = Decimal("25.4")  # exact since 1959 (international yard and pound agreement)
MM2_PER_FT2 = Decimal("92903.04")  # (12 × 25.4)²
ML_PER_US_GALLON = Decimal("3785.411784")  # 231 cubic inches
ML_PER_US_FLUID_OUNCE = Decimal("29.5735295625")
#: What a volume can be written in, and how much of it is one; an ounce of weight and a British gallon are neither.
PL_PER_UNIT: dict[str, Decimal] = {
    "mL": Decimal(PL_PER_ML),
    "L": Decimal(PL_PER_L),
    "US fl oz": ML_PER_US_FLUID_OUNCE * PL_PER_ML,
    "US gal": ML_PER_US_GALLON * PL_PER_ML,
}


class Edge(int):
    """Millimetres that a sentence shows as the house writes them."""


def decimal_of(value: object) -> Decimal:
    """``value`` (int, float as TOML gives it, or text) as the decimal a person wrote; else ``ValueError``."""
    try:
        number = Decimal(str(value).strip())
    except InvalidOperation:
        raise ValueError(f"{value!r} is not a number") from None
    if not number.is_finite():
        raise ValueError(f"{value!r} is not a finite number")
    return number


def scaled(value: object, factor: int | Decimal) -> int:
    """``value`` × ``factor`` as an integer, half to even: the one rounding, at entry."""
    return int((decimal_of(value) * factor).to_integral_value(ROUND_HALF_EVEN))


def pl_from_ml(value: object) -> int:
    return scaled(value, PL_PER_ML)


def pl_from(value: object, unit: str) -> int:
    """A volume in one of ``PL_PER_UNIT``; another unit is a ``ValueError``, never guessed."""
    if unit not in PL_PER_UNIT:
        raise ValueError(f"{unit!r} is no volume")
    return scaled(value, PL_PER_UNIT[unit])


def ul_per_m2_from_ml_per_m2(value: object) -> int:
    return scaled(value, 1_000)


def ul_per_m2_from_ml_per_ft2(value: object) -> int:
    return scaled(decimal_of(value) * 1_000 * MM2_PER_M2 / MM2_PER_FT2, 1)


def area_mm2(width_mm: int, length_mm: int, sheets: int) -> int:
    """Area of ``sheets`` sheets, borders and all: w·l·n."""
    return width_mm * length_mm * sheets


def due_pl(area: int, rate_ul_per_m2: int) -> int:
    """What an area (mm²) asks at a rate (µL/m²): pL, exact."""
    return area * rate_ul_per_m2


def nl_number(pl: int) -> int | float:
    """pL as a JSON number of nL: whole where it is whole, else with the decimals the rate has."""
    whole, rest = divmod(pl, PL_PER_NL)
    return whole if not rest else float(Decimal(pl) / PL_PER_NL)


def minor_from_major(value: object, digits: int = 2) -> int:
    """Money as written (``"41.0"``) in minor units of a currency with ``digits`` decimals."""
    return scaled(value, 10**digits)
