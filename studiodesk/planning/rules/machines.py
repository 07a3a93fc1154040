"""Where the sheets of a stay go when a process has several processors.  Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import datetime

from .usage import Tuning, weight
from .values import Machine, Stay

SAME_MACHINE_WORTH = 3.0  # sessions


def where_it_went(
    sessions: Sequence[Stay], machines: Sequence[Machine], at: datetime, tuning: Tuning
) -> dict[int, dict[int, float]]:
    """Processor booked → processor fed → share of the area: people do not always stand where they are booked."""
    if len(machines) == 1:
        return {machines[0].pk: {machines[0].pk: 1.0}}
    went: dict[int, dict[int, float]] = {one.pk: {other.pk: 0.0 for other in machines} for one in machines}
    for stay in sessions:
        if stay.processor in went:
            for processor, area in stay.fed.items():
                if processor in went:
                    went[stay.processor][processor] += area * weight((at - stay.ends).total_seconds(), tuning)
    areas = [stay.area_mm2 for stay in sessions if stay.area_mm2]
    usual = SAME_MACHINE_WORTH * (sum(areas) / len(areas) if areas else 1.0)
    for booked, to in went.items():
        total = sum(to.values()) + usual
        went[booked] = {fed: (area + (usual if fed == booked else 0.0)) / total for fed, area in to.items()}
    return went


def how_divided(sessions: Sequence[Stay], machines: Sequence[Machine], at: datetime, tuning: Tuning) -> float:
    """How far one stay's sheets are divided among the processors: 0 all through one, 1 as the processors share."""
    pks = {machine.pk for machine in machines}
    of: dict[int, float] = defaultdict(float)
    whole = parts = area = 0.0
    for stay in sessions:
        counts = weight((at - stay.ends).total_seconds(), tuning)
        fed = {pk: mm2 for pk, mm2 in stay.fed.items() if pk in pks}
        whole += counts * sum(fed.values()) ** 2
        parts += counts * sum(mm2**2 for mm2 in fed.values())
        for pk, mm2 in fed.items():
            of[pk] += counts * mm2
    area = sum(of.values())
    if not area:
        return 0.0
    even = sum((one / area) ** 2 for one in of.values())
    usual = SAME_MACHINE_WORTH * whole / max(1, len(sessions))
    together = (parts + usual) / (whole + usual)
    return 0.0 if even >= 1 else min(1.0, max(0.0, (1 - together) / (1 - even)))


def squared_part(divided: float, share: float) -> float:
    """Mean square of the part of a stay that a processor gets, whose mean is ``share``."""
    return (1 - divided) * share + divided * share**2
