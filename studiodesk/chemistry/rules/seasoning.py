"""How much of the first mix is left in a replenished tank.  Pure; fractions of the tank, 0 to 1."""

from __future__ import annotations

import math


def left_by_continuous_bleed(turnovers: float) -> float:
    """e^−T: replenisher trickles in while the tank overflows (well-mixed tank, dx/dT = −x)."""
    return math.exp(-turnovers)


def left_by_drawing_off(times: int, share: float) -> float:
    """(1 − v/V)^n: ``share`` = v/V is drawn off first, then as much is added."""
    return (1 - share) ** times


def left_by_adding(times: int, share: float) -> float:
    """(1 + v/V)^−n: ``share`` = v/V is added first, then the tank overflows to its level."""
    return (1 + share) ** -times


def concentrated_by(volume_pl: int, evaporated_pl: int) -> float:
    """V/(V − E) − 1: how much stronger a bath gets when water alone leaves.  ``ValueError`` if none is left."""
    if evaporated_pl >= volume_pl:
        raise ValueError("nothing is left in the tank")
    return volume_pl / (volume_pl - evaporated_pl) - 1
