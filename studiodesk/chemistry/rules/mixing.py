"""How much of what goes into a mix, in which order, and what can be measured of it.  Pure.

1+n is one part of concentrate and n parts of water: concentrate V/(n+1).  Parts are scaled exactly (fractions) and then
rounded to what the studio can measure; both numbers are kept.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from fractions import Fraction

from studiodesk.answers import Refusal
from studiodesk.units import PL_PER_L, PL_PER_ML

ML = "mL"
#: A part that rounding changes by more than this is said: the same share at which a pump's stroke is said to be off.
ROUGH = Fraction(5, 100)
MOST_PL = 1_000 * PL_PER_L
#: An amount so many times (or so small a share of) what a recipe is given for is more often a slip of the pen.
FAR_FROM_RECIPE = 20
SIXTH = Decimal("0.000001")  # what ``MixPart.asked`` keeps
THIRD = Decimal("0.001")
_RATIO = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*([+:/])\s*(\d+(?:[.,]\d+)?)\s*")


@dataclass(frozen=True)
class Ratio:
    """Parts of concentrate and parts of water."""

    concentrate: Decimal
    water: Decimal

    @property
    def share(self) -> Fraction:
        """Of the whole that is concentrate."""
        return Fraction(self.concentrate) / (Fraction(self.concentrate) + Fraction(self.water))

    def concentrate_in(self, volume: Decimal) -> Fraction:
        """Of ``volume`` in all: V/(n+1) for 1+n, in the same unit."""
        return Fraction(volume) * self.share

    def __str__(self) -> str:
        return f"{plain(self.concentrate)}+{plain(self.water)}"


def parsed(text: str) -> Ratio | Refusal:
    """ "1+9".  "1:9" is asked about: some mean 1+9 with it and some one part in nine, which is 1+8."""
    found = _RATIO.fullmatch(text)
    if found is None:
        return Refusal("chemistry.ratio_unreadable", {"written": text.strip()})
    first, sign, second = found[1].replace(",", "."), found[2], found[3].replace(",", ".")
    ratio = Ratio(Decimal(first), Decimal(second))
    if ratio.concentrate <= 0:
        return Refusal("chemistry.ratio_unreadable", {"written": text.strip()})
    if sign == "+":
        return ratio
    less = ratio.water - ratio.concentrate
    inside = f"{plain(ratio.concentrate)}+{plain(less)}" if less > 0 else "1+0"
    return Refusal("chemistry.ratio_ambiguous", {"written": text.strip(), "plus": str(ratio), "inside": inside})


@dataclass(frozen=True)
class Part:
    """One step of a recipe: ``amount`` in ``unit`` for ``makes_pl`` (water: mL), or ``make_up`` to the volume."""

    position: int
    amount: Decimal | None
    unit: str = ML
    make_up: bool = False
    is_water: bool = False
    rounds_to: Decimal | None = None


@dataclass(frozen=True)
class Measure:
    """What one part is for the amount asked: exactly, and as it can be measured."""

    part: Part
    exact: Fraction
    rounded: Decimal

    @property
    def asked(self) -> Decimal:
        """The exact number with six decimals, half to even, as it is kept."""
        return _decimal(self.exact, SIXTH)

    @property
    def off(self) -> Fraction:
        """How far the rounded number is from the exact one, as a share of the exact one."""
        return (Fraction(self.rounded) - self.exact) / self.exact if self.exact else Fraction(0)

    @property
    def is_rough(self) -> bool:
        """Rounding changes it by more than 5 %; exactly 5 % is not more.  Water to the mark is what is left over."""
        return not self.part.make_up and abs(self.off) > ROUGH


def rounded_to(exact: Fraction, step: Decimal | None) -> Decimal:
    """The multiple of ``step`` that is nearest, half to even, but never nothing of what is something."""
    if step is None or step <= 0:
        return _decimal(exact, THIRD)
    steps = round(exact / Fraction(step))
    return step * (steps if steps or exact <= 0 else 1)


def measures(parts: Sequence[Part], makes_pl: int, asked_pl: int) -> list[Measure]:
    """Every part for ``asked_pl``, in order.

    Water up to the mark is what the rounded liquids leave of the volume: with it the liquids' sum is the volume.  It
    is "about": powders take room too, so one fills to the mark and not by this number.
    """
    factor, volume = Fraction(asked_pl, makes_pl), Fraction(asked_pl, PL_PER_ML)
    out: list[Measure] = []
    for part in parts:
        if part.make_up:
            continue
        exact = Fraction(part.amount or 0) * factor
        out.append(Measure(part, exact, rounded_to(exact, part.rounds_to)))
    liquid = [one for one in out if one.part.unit == ML]
    for part in parts:
        if part.make_up:
            rest = max(Fraction(0), volume - sum((one.exact for one in liquid), Fraction(0)))
            left = max(Fraction(0), volume - sum((Fraction(one.rounded) for one in liquid), Fraction(0)))
            out.append(Measure(part, rest, _decimal(left, THIRD)))
    return sorted(out, key=lambda one: one.part.position)


def is_too_small(found: Iterable[Measure], asked_pl: int) -> bool:
    """The liquids as they can be measured are more than the whole: so little cannot be mixed here."""
    liquid = sum((Fraction(one.rounded) for one in found if _counts(one)), Fraction(0))
    return liquid > Fraction(asked_pl, PL_PER_ML)


def from_ratio(ratio: Ratio, makes_pl: int) -> Decimal:
    """The concentrate in mL for so much in all, with three decimals."""
    return _decimal(Fraction(makes_pl, PL_PER_ML) * ratio.share, THIRD)


def describing_refusal(name: str, makes_pl: int, parts: Sequence[Part], ratio: str) -> Refusal | None:
    """May a recipe be kept like this: it has a name and parts, its liquids fit into what it makes, its ratio is so."""
    if not name.strip():
        return Refusal("chemistry.recipe_needs_name")
    if not 0 < makes_pl <= MOST_PL:
        return Refusal("chemistry.mix_amount", {"most": MOST_PL // PL_PER_L})
    if not any(part.amount for part in parts):
        return Refusal("chemistry.recipe_needs_parts")
    if sum(part.make_up for part in parts) > 1:
        return Refusal("chemistry.one_mark_only")
    volume = Fraction(makes_pl, PL_PER_ML)
    liquid = sum((Fraction(part.amount or 0) for part in parts if part.unit == ML), Fraction(0))
    if liquid > volume:
        return Refusal("chemistry.parts_too_much", {"parts": plain(_decimal(liquid, THIRD)), "makes": _ml(makes_pl)})
    if ratio.strip():
        return _ratio_refusal(ratio, volume, parts)
    return None


def _ratio_refusal(written: str, volume: Fraction, parts: Sequence[Part]) -> Refusal | None:
    """Of a recipe with one liquid beside water the ratio must be that of its parts, to 1 %."""
    ratio = parsed(written)
    if isinstance(ratio, Refusal):
        return ratio
    bought = [part for part in parts if not part.is_water and not part.make_up and part.unit == ML]
    if len(bought) != 1:
        return None
    wanted, given = volume * ratio.share, Fraction(bought[0].amount or 0)
    if abs(given - wanted) * 100 <= wanted:
        return None
    facts = {"ratio": str(ratio), "wanted": plain(_decimal(wanted, THIRD)), "given": plain(_decimal(given, THIRD))}
    return Refusal("chemistry.ratio_does_not_fit", facts)


def asking_refusal(asked_pl: int) -> Refusal | None:
    if not 0 < asked_pl <= MOST_PL:
        return Refusal("chemistry.mix_amount", {"most": MOST_PL // PL_PER_L})
    return None


def doubt_amount(asked_pl: int, makes_pl: int) -> Refusal | None:
    """More than twenty times what the recipe is given for, or less than a twentieth: litres for millilitres?"""
    if asked_pl > makes_pl * FAR_FROM_RECIPE:
        return Refusal("chemistry.far_more_than_recipe", {"times": round(Fraction(asked_pl, makes_pl))})
    if asked_pl * FAR_FROM_RECIPE < makes_pl:
        return Refusal("chemistry.far_less_than_recipe", {"times": round(Fraction(makes_pl, asked_pl))})
    return None


@dataclass(frozen=True)
class LeastFor:
    """One-shot: the concentrate that is in a mix against the least that each roll or sheet asks."""

    concentrate_pl: int
    least_pl: int
    units: int

    @property
    def is_enough(self) -> bool:
        return self.concentrate_pl >= self.least_pl * self.units

    @property
    def enough_for(self) -> int:
        return self.concentrate_pl // self.least_pl


def least_for(found: Iterable[Measure], least_per_unit_pl: int | None, units: int) -> LeastFor | None:
    """``None`` where no least is set or nothing liquid is bought; the concentrate is the first liquid of the recipe.

    Reckoned from the exact number: a cylinder that is read to 1 mL does not turn 5.9 into 6.
    """
    if not least_per_unit_pl or least_per_unit_pl <= 0:
        return None
    for one in found:
        if not one.part.is_water and not one.part.make_up and one.part.unit == ML:
            return LeastFor(int(one.exact * PL_PER_ML), least_per_unit_pl, units)
    return None


def shared_out(asked: Decimal, taken: Sequence[Decimal]) -> list[Decimal]:
    """``asked`` over the lots by what was taken of each: six decimals, the last has the rest, the sum is exact."""
    whole = sum(taken, Decimal(0))
    out: list[Decimal] = []
    for amount in taken[:-1]:
        out.append(_decimal(Fraction(asked) * Fraction(amount) / Fraction(whole), SIXTH))
    return [*out, asked - sum(out, Decimal(0))]


def made_up(made_pl: int, found: Sequence[Measure], measured: Mapping[int, Decimal]) -> Decimal:
    """The water that went in up to the mark, in mL: what was made but for the liquids that were measured."""
    liquid = (measured.get(one.part.position, one.rounded) for one in found if _counts(one))
    rest = _decimal(Fraction(made_pl, PL_PER_ML), THIRD) - sum(liquid, Decimal(0))
    return max(Decimal(0), rest)


def _counts(one: Measure) -> bool:
    return one.part.unit == ML and not one.part.make_up


def plain(number: Decimal) -> str:
    """A decimal without zeros at its end and without an exponent."""
    return f"{number.normalize():f}"


def _ml(pl: int) -> str:
    return plain(_decimal(Fraction(pl, PL_PER_ML), THIRD))


def _decimal(number: Fraction, step: Decimal) -> Decimal:
    """To a multiple of a power of ten, half to even, whatever the length of the number."""
    places = -int(step.as_tuple().exponent)
    with localcontext() as context:
        context.prec = 60
        whole = Decimal(round(number * 10**places))
        return whole.scaleb(-places).quantize(step, ROUND_HALF_EVEN)
