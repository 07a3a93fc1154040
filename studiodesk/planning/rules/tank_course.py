"""What a tank holds after more has gone through it: four courses in closed form, and when a limit is met.  Pure.

A well-mixed tank of volume V loses over the weir what it is given, so a concentration follows a linear equation in
the area A that went through (or the time t); each docstring gives it and its solution.  Units: any set that agrees,
for instance V in L, rates r in L/m², areas in m², concentrations in g/L and what a square metre makes or takes in
g/m²; or pL, µL/m² (= pL/mm²), mm², pg/pL and pg/mm².

This is the continuous limit, for looking ahead over many sheets.  What has gone through already is reckoned by
``chemistry.rules.tank`` in whole strokes, of which each leaves V/(V + u), a little more than e^(−u/V).
"""

from __future__ import annotations

import math

from studiodesk.chemistry.rules.seasoning import left_by_continuous_bleed

NEARLY_NONE = 1e-9  # a share of a turnover so small that e^−T is 1 − T + T²/2 to the last digit


def turnovers_by(area: float, volume: float, rate: float) -> float:
    """T = r·A/V: how often the replenisher that an area asks for fills the tank (by sheets alone, idle days apart)."""
    _check(volume, rate=rate, area=area)
    return rate * area / volume


def washed_out(turnovers: float, first: float, replenisher: float) -> float:
    """Concentration after T turnovers of a tank mixed at ``first`` and replenished at ``replenisher``.

    dc/dT = c_r − c, so c(T) = c_r + (c_0 − c_r)·e^−T.
    """
    if not turnovers >= 0:
        raise ValueError("turnovers count from 0 on")
    return replenisher + (first - replenisher) * left_by_continuous_bleed(turnovers)


def built_up(area: float, *, start: float, made: float, volume: float, rate: float, brought: float = 0.0) -> float:
    """Concentration of a by-product (bromide, silver) after the area ``area``.

    ``start`` B_0 is in the tank now, ``made`` p comes off each unit of area, ``brought`` B_r is in the replenisher,
    given at ``rate`` r (0 for a batch).  V·dB/dA = p + r·(B_r − B), so B(A) = B_0 + (p + r·(B_r − B_0))/r·(1 − e^−T)
    with T = r·A/V: it settles at B_r + p/r, and in a batch it rises by p·A/V.
    """
    turnovers = turnovers_by(area, volume, rate)
    net = made + rate * (brought - start)
    if turnovers < NEARLY_NONE:
        return start + net * area / volume * (1 - turnovers / 2)
    return start - net / rate * math.expm1(-turnovers)


def area_until(
    limit: float, *, start: float, made: float, volume: float, rate: float, brought: float = 0.0
) -> float | None:
    """The area after which a by-product reaches ``limit``: the inverse of ``built_up``, with the same arguments.

    −(V/r)·ln((s − limit)/(s − B_0)) with s = B_r + p/r where it settles; V·(limit − B_0)/p in a batch.  0 if it is
    there already; ``None`` if it never gets there, because it settles at or under the limit.
    """
    _check(volume, rate=rate)
    if start >= limit:
        return 0.0
    net = made + rate * (brought - start)  # r·(s − B_0)
    way = limit - start
    if net <= 0 or rate * way >= net:
        return None
    share = rate * way / net
    if share < NEARLY_NONE:
        return volume * way / net * (1 + share / 2)
    return -volume * math.log1p(-share) / rate


def used_and_oxidised(
    days: float,
    *,
    start: float,
    replenisher: float,
    used: float,
    volume: float,
    rate: float,
    a_day: float,
    decay: float,
) -> float:
    """Concentration of a developing agent after ``days`` of ``a_day`` area each (m²/day).

    ``used`` u is what a unit of area takes, ``decay`` k the share that air takes a day, ``replenisher`` D_r what comes
    in at ``rate`` r.  dD/dt = (r·a/V)·(D_r − D) − a·u/V − k·D = b − q·D with q = r·a/V + k and b = (r·D_r − u)·a/V:
    D(t) = D_0 + (b − q·D_0)·(1 − e^(−q·t))/q, settling at b/q.  Answers under 0 where the agent would be gone.
    """
    _check(volume, rate=rate, days=days, a_day=a_day, decay=decay)
    slowing = rate * a_day / volume + decay
    gain = (rate * replenisher - used) * a_day / volume - slowing * start
    if slowing * days < NEARLY_NONE:
        return start + gain * days * (1 - slowing * days / 2)
    return start - gain * math.expm1(-slowing * days) / slowing


def used_with_carry_out(
    area: float, *, start: float, used: float, volume: float, carried: float
) -> tuple[float, float]:
    """(volume left, concentration) of a bath that is not replenished, after ``area``.

    Sheets take ``used`` u from the solution and carry ``carried`` w of it away on their surface.  dV/dA = −w and
    d(V·D)/dA = −u − w·D, so V·dD/dA = −u and D = D_0 − (u/w)·ln(V_0/V) with V = V_0 − w·A; without carry-out
    D_0 − u·A/V_0.  ``ValueError`` if nothing would be left in the tank.
    """
    _check(volume, carried=carried, area=area)
    gone = carried * area / volume
    if gone >= 1:
        raise ValueError("nothing is left in the tank")
    if gone < NEARLY_NONE:
        return volume - carried * area, start - used * area / volume * (1 + gone / 2)
    return volume - carried * area, start + used / carried * math.log1p(-gone)


def _check(volume: float, **others: float) -> None:
    if not 0 < volume < math.inf:
        raise ValueError("a tank has a volume over 0")
    for name, value in others.items():
        if not 0 <= value < math.inf:
            raise ValueError(f"{name} is 0 or more, not {value!r}")
