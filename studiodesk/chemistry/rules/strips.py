"""Control strips: judged by numbers or by eye, and what follows from one after the other.  Pure.

Readings are densities as decimals, as they were read; nothing here is a float, so that a reading at a limit is at it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

INSIDE, ACTION, CONTROL = "inside", "past action", "past control"
ORDER = (INSIDE, ACTION, CONTROL)
SPREAD = "spread"
MATCHES = "matches"
IN_A_ROW = 6


@dataclass(frozen=True)
class Aim:
    """What one patch and channel should read, and how far from it is too far; None never binds.

    The limits are deviations, those below with their minus sign.  A spread has no aim of its own: its limits bound the
    greatest less the least deviation of the patch.
    """

    aim: Decimal | None
    action_below: Decimal | None = None
    action_above: Decimal | None = None
    control_below: Decimal | None = None
    control_above: Decimal | None = None

    def verdict(self, deviation: Decimal) -> str:
        """At a limit a reading has not passed it."""
        if _passed(deviation, self.control_below, self.control_above):
            return CONTROL
        return ACTION if _passed(deviation, self.action_below, self.action_above) else INSIDE

    def broken(self, deviation: Decimal) -> Decimal | None:
        """The limit that was passed, the outer one first."""
        for below, above in ((self.control_below, self.control_above), (self.action_below, self.action_above)):
            if below is not None and deviation < below:
                return below
            if above is not None and deviation > above:
                return above
        return None


def _passed(deviation: Decimal, below: Decimal | None, above: Decimal | None) -> bool:
    return (below is not None and deviation < below) or (above is not None and deviation > above)


@dataclass(frozen=True)
class Judged:
    """One patch and channel of a strip: ``deviation`` = reading − aim (of a spread: greatest − least deviation)."""

    patch: str
    channel: str
    deviation: Decimal
    verdict: str
    limit: Decimal | None = None

    @property
    def key(self) -> tuple[str, str]:
        return self.patch, self.channel


def judged(readings: Mapping[tuple[str, str], Decimal], aims: Mapping[tuple[str, str], Aim]) -> list[Judged]:
    """Every reading that has an aim, by patch; after the channels of a patch its spread, where that has limits."""
    found: list[Judged] = []
    patches: dict[str, list[Decimal]] = {}
    for (patch, channel), reading in readings.items():
        aim = aims.get((patch, channel))
        if aim is None or aim.aim is None:
            continue
        deviation = reading - aim.aim
        patches.setdefault(patch, []).append(deviation)
        found.append(Judged(patch, channel, deviation, aim.verdict(deviation), aim.broken(deviation)))
    for patch, deviations in patches.items():
        aim = aims.get((patch, SPREAD))
        if aim is not None and len(deviations) > 1:
            spread = max(deviations) - min(deviations)
            found.append(Judged(patch, SPREAD, spread, aim.verdict(spread), aim.broken(spread)))
    return sorted(found, key=lambda one: (one.patch, one.channel == SPREAD))


def worst(verdicts: Iterable[str]) -> str:
    """The worst of them; inside if there is none."""
    return max(verdicts, key=ORDER.index, default=INSIDE)


def by_eye(eye: str, *, nothing_to_print: bool) -> str:
    """What a strip beside its reference is worth.  An eye sees that something is off, not by how much: it says
    "past action", and "past control" only if the person says that nothing should be printed now.
    """
    if eye == MATCHES:
        return INSIDE
    return CONTROL if nothing_to_print else ACTION


def went_one_way(deviations: Sequence[Decimal]) -> bool:
    """The last six in a row, each further the same way than the one before: something changes slowly.

    Six points steadily rising or falling, as run rules of control charts have it (Nelson 1984, test 3).
    """
    last = deviations[-IN_A_ROW:]
    if len(last) < IN_A_ROW:
        return False
    steps = [after - before for before, after in pairwise(last)]
    return all(step > 0 for step in steps) or all(step < 0 for step in steps)


@dataclass(frozen=True)
class Response:
    """How a processor stands after its strips: which opened the case and which confirmed it, by their places.

    ``first`` None: no case is open.  ``second`` None: a second strip is asked for; else the processor is held.
    """

    first: int | None = None
    second: int | None = None
    is_past_action: bool = False

    @property
    def asks_for_second(self) -> bool:
        return self.first is not None and self.second is None

    @property
    def is_held(self) -> bool:
        return self.second is not None


def response(verdicts: Sequence[str]) -> Response:
    """The strips of a processor in the order of time; what was logged late stands where it was read.

    Past action: print on and look for the cause.  Past control: a second strip decides.  Confirmed, the processor is
    held until a strip is inside again; one that is only past action lets nothing go.
    """
    first: int | None = None
    second: int | None = None
    for number, verdict in enumerate(verdicts):
        if first is None:
            first = number if verdict == CONTROL else None
        elif second is None:
            first, second = (first, number) if verdict == CONTROL else (None, None)
        elif verdict == INSIDE:
            first = second = None
    last = verdicts[-1] if verdicts else INSIDE
    return Response(first, second, last == ACTION)
