"""What chemistry cost: refills and replenisher, each at the price in force then.  Pure; money in minor units, exact.

Sums are fractions of the smallest coin, rounded once when they are shown.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from studiodesk.units import MM2_PER_M2, PL_PER_L

KL = 1000 * PL_PER_L


def replenisher_cost(pl: int, minor_per_kl: int | None) -> Fraction:
    """``pl`` at a price for a thousand litres; what has no price costs nothing, and is said to have none."""
    return Fraction(pl * (minor_per_kl or 0), KL)


@dataclass(frozen=True)
class BathCost:
    """What one bath cost in a stretch of time.  ``unpriced``: refills or replenisher that have no price."""

    name: str
    refills: int = 0
    refills_minor: int = 0
    given_pl: int = 0
    replenisher_minor: Fraction = Fraction(0)
    unpriced: bool = False

    @property
    def minor(self) -> Fraction:
        return self.refills_minor + self.replenisher_minor


@dataclass(frozen=True)
class ProcessCost:
    """All baths of a process, with the paper that went through them."""

    name: str
    area_mm2: int
    baths: Sequence[BathCost] = field(default_factory=tuple)

    @property
    def minor(self) -> Fraction:
        return sum((one.minor for one in self.baths), Fraction(0))

    @property
    def minor_per_m2(self) -> Fraction | None:
        """None where nothing went through: a refill alone has no cost per m²."""
        return self.minor * MM2_PER_M2 / self.area_mm2 if self.area_mm2 else None

    def minor_for(self, area_mm2: int | Decimal) -> Fraction | None:
        """A sheet of that area, at the cost of its share of the paper."""
        return self.minor * Fraction(area_mm2) / self.area_mm2 if self.area_mm2 else None

    @property
    def unpriced(self) -> bool:
        return any(one.unpriced for one in self.baths)


@dataclass(frozen=True)
class Share:
    """What one evening's sheets asked of one bath: replenisher due for them, and their part of a refill."""

    name: str
    due_pl: int
    replenisher_minor: Fraction
    refill_minor: Fraction
    shares_refill: bool

    @property
    def minor(self) -> Fraction:
        return self.replenisher_minor + self.refill_minor


def share_of_bath(
    name: str,
    sheets: Iterable[tuple[int, int, int | None]],
    *,
    volume_pl: int,
    minor_per_kl: int | None,
    refill_minor: int | None,
) -> Share:
    """``sheets``: (area in mm², rate in µL/m², capacity in mm² per litre or None) of each lot that went through.

    A bath with a capacity is used up by its area: its refill is shared out by it.  One without is replenished, and
    its refills belong to the house.
    """
    due, part, shares = 0, Fraction(0), False
    for area, rate, capacity in sheets:
        due += area * rate
        if capacity:
            shares = True
            part += Fraction(area * PL_PER_L, capacity * volume_pl)
    refill = part * (refill_minor or 0)
    return Share(name, due, replenisher_cost(due, minor_per_kl), refill, shares)


def rounded(minor: Fraction) -> int:
    """To the smallest coin, half to even: once, when it is shown."""
    return round(minor)


def in_whole_coins(parts: Sequence[Fraction]) -> list[int]:
    """Each part in whole coins, summing to the rounded sum: the greatest remainders get the coins that are left."""
    total = rounded(sum(parts, Fraction(0)))
    floors = [int(one // 1) for one in parts]
    left = total - sum(floors)
    order = sorted(range(len(parts)), key=lambda number: (floors[number] - parts[number], number))
    for number in order[:left]:
        floors[number] += 1
    return floors
