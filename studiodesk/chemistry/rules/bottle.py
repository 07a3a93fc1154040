"""The count of the sheets held against the fall of the replenisher bottle.  Pure; amounts pL, areas mm².

What left the bottle between two levels, less what the book says was given, went unseen: sheets that nobody logged, a
giving that nobody wrote down, or a pump that gives more than is reckoned.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

#: A share from which it is worth asking; a level is read to a few per cent at best (common practice).
WORTH_ASKING = Fraction(1, 10)


@dataclass(frozen=True)
class Fall:
    """``fell_pl``: first level + poured in − last level; ``given_pl``: what the book says was given meanwhile."""

    fell_pl: int
    given_pl: int
    unit_pl: int

    @property
    def unseen_pl(self) -> int:
        """More left than was given (or, below 0, less: the pump gives short, or sheets were logged twice)."""
        return self.fell_pl - self.given_pl

    @property
    def share(self) -> Fraction | None:
        """The part of what left that the book does not know; None if nothing left the bottle."""
        return Fraction(max(0, self.unseen_pl), self.fell_pl) if self.fell_pl > 0 else None

    @property
    def is_worth_asking(self) -> bool:
        """Over a tenth, and over three strokes or measures: less is within what can be read off a bottle."""
        share = self.share
        return share is not None and share > WORTH_ASKING and self.unseen_pl > 3 * self.unit_pl

    @property
    def gives_short(self) -> bool:
        """The bottle fell by a tenth less than the strokes should have taken: the pump gives less than is reckoned."""
        return self.given_pl > 0 and Fraction(-self.unseen_pl, self.given_pl) > WORTH_ASKING


def fall(first_pl: int, poured_in_pl: int, last_pl: int, given_pl: int, unit_pl: int) -> Fall:
    """``first_pl`` and ``last_pl`` are levels, ``poured_in_pl`` all that was filled in between them."""
    return Fall(first_pl + poured_in_pl - last_pl, given_pl, unit_pl)


def unseen_sheets(unseen_pl: int, rate_ul_per_m2: int, sheet_mm2: int) -> int:
    """How many sheets of one size ask for that much: the nearest whole number, at least 0."""
    if unseen_pl <= 0 or rate_ul_per_m2 <= 0:
        return 0
    asked = rate_ul_per_m2 * sheet_mm2
    return (2 * unseen_pl + asked) // (2 * asked)
