"""How what is due is given by hand: drawn off first where nothing runs over a weir, in steps the tank bears.  Pure.

Amounts are pL.  What is drawn off before makes room for what is given; a tank that stands low has that room already.
The steps are whole strokes or measures, for nobody measures a part of one; the least step is one of them.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Giving:
    """``units`` strokes or measures of ``unit_pl``; ``draw_off_pl`` before; ``steps``: how many of them at a time."""

    units: int
    unit_pl: int
    draw_off_pl: int
    steps: tuple[int, ...]

    @property
    def pl(self) -> int:
        return self.units * self.unit_pl

    @property
    def units_a_step(self) -> int:
        """Of the first steps; the last may be fewer."""
        return self.steps[0] if self.steps else 0


def giving(units: int, unit_pl: int, *, short_pl: int, has_weir: bool, most_at_once_pl: int | None) -> Giving:
    """``units`` ≥ 0 of ``unit_pl`` > 0 for a tank that stands ``short_pl`` below its level."""
    amount = units * unit_pl
    a_step = units if most_at_once_pl is None else max(1, most_at_once_pl // unit_pl)
    whole, rest = divmod(units, a_step) if units else (0, 0)
    steps = (*[a_step] * whole, *([rest] if rest else []))
    return Giving(units, unit_pl, 0 if has_weir else max(0, amount - short_pl), steps)
