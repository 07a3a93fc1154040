"""Sums behind the look: how wide, how high, how dark, how rounded.  Pure: no Django, no words, no clock.

A drawn day is cut into quanta of five minutes; a piece's width is its number of quanta (class ``t<N>``), so pieces
that touch in time touch on the page.  A piece's height on a phone grows by doublings of its length (class ``h<N>``).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import ROUND_HALF_EVEN, Decimal
from hashlib import sha256
from typing import Any

QUANTUM = timedelta(minutes=5)
MOST_QUANTA = 300  # a local day of 25 hours: studio.css holds t1 to t300
PL_PER_ML = 1_000_000_000
PL_PER_L = 1_000 * PL_PER_ML
MM2_PER_M2 = 1_000_000
WEDGE_STEPS = 10
TIRED_AT = 0.8

# One tooth each: where the edge goes, in units of 1 px from the tooth's own left end.  Our own shapes: chosen to be
# told apart by a fingertip (pointed, flat, round, sloped, stepped).
TEETH: dict[str, tuple[int, str]] = {
    "vee": (18, "l9 10 l9 -10"),
    "square": (16, "v9 h16 v-9"),
    "round": (20, "a10 10 0 0 0 20 0"),
    "ramp": (22, "l22 10 v-10"),
    "stair": (22, "v10 h11 v-5 h11 v-5"),
}
KNOWN_KINDS: dict[str, tuple[str, ...]] = {
    "enlarger booth": ("vee",),
    "processor": ("square",),
    "scanning station": ("round",),
    "shooting bay": ("ramp",),
    "film bench": ("stair",),
}


@dataclass(frozen=True)
class Place:
    """Where one piece stands in the drawn day: class names for its width, its share of the day, its height."""

    quanta: int
    share: int
    height: int

    @property
    def classes(self) -> str:
        return f"t{self.quanta} w{self.share} h{self.height}"


def elapsed(starts: datetime, ends: datetime) -> timedelta:
    """Real time from one aware moment to another: Python subtracts wall clocks where both have the same zone."""
    return ends.astimezone(UTC) - starts.astimezone(UTC)


def quanta(starts: datetime, ends: datetime, origin: datetime) -> int:
    """Width of ``[starts, ends)`` in quanta, both ends rounded from ``origin``: neighbours never gap or overlap."""
    return min(MOST_QUANTA, max(0, round(elapsed(origin, ends) / QUANTUM) - round(elapsed(origin, starts) / QUANTUM)))


def share_class(part: int, whole: int) -> int:
    """0 (a sliver) to 5 (room for two lines): how much text fits in a piece of ``part`` of ``whole`` quanta."""
    share = part / whole if whole else 0.0
    return sum(share >= bound for bound in (0.02, 0.04, 0.065, 0.10, 0.16))


def height_class(length: timedelta) -> int:
    """0 up to a quarter of an hour, one more for each doubling, 6 from sixteen hours on."""
    quarters, step = length / timedelta(minutes=15), 0
    while quarters >= 2 and step < 6:
        quarters /= 2
        step += 1
    return step


def places(pieces: Sequence[Any]) -> list[Place]:
    """The places of contiguous pieces (each with aware ``starts`` and ``ends``), in their order."""
    if not pieces:
        return []
    origin, end = pieces[0].starts, pieces[-1].ends
    whole = quanta(origin, end, origin)
    out = []
    for piece in pieces:
        wide = max(1, quanta(piece.starts, piece.ends, origin))  # a sliver is still there
        out.append(Place(wide, share_class(wide, whole), height_class(elapsed(piece.starts, piece.ends))))
    return out


def hour_cells(starts: datetime, ends: datetime) -> list[tuple[datetime, int, bool]]:
    """(start, quanta, on the hour) of each cell of the hour scale; ``starts`` and ``ends`` in the studio's zone."""
    out, zone = [], starts.tzinfo
    at, last = starts.astimezone(UTC), ends.astimezone(UTC)
    while at < last:
        # Stepped in UTC, so that a clock change neither drops nor doubles a cell.
        local = at.astimezone(zone)
        past_hour = timedelta(minutes=local.minute, seconds=local.second, microseconds=local.microsecond)
        following = min(last, at + timedelta(hours=1) - past_hour)
        out.append((local, quanta(at, following, starts), not past_hour))
        at = following
    return out


def tone(free: int, of: int) -> str:
    """A step: "s0" all free (bare paper), "s1" to "s3" darker, "s4" none free, "closed" if none is to be had."""
    if of <= 0:
        return "closed"
    if free <= 0:
        return "s4"
    share = free / of
    return "s0" if share >= 1 else "s1" if share > 0.5 else "s2" if share > 0.25 else "s3"


def covered(steps: Iterable[Any], now: datetime | None) -> tuple[datetime, datetime] | None:
    """What is past at ``now`` (moved forward to a whole quantum, as on day lines) of the drawn steps; else None."""
    steps = list(steps)
    if now is None or not steps or now <= steps[0].starts:
        return None
    over = timedelta(seconds=now.timestamp() % QUANTUM.total_seconds())
    edge = now.astimezone(UTC) + QUANTUM - over if over else now
    return steps[0].starts, min(edge, steps[-1].ends)


@dataclass(frozen=True)
class Card:
    """What is past, as one piece."""

    starts: datetime
    ends: datetime
    what: str = "past"


def one_past(stretches: Iterable[Any]) -> list[Any]:
    """Neighbouring past stretches made one: a processor's differ in their free places, under the card nobody asks."""
    out: list[Any] = []
    for stretch in stretches:
        if out and stretch.what == "past" and out[-1].what == "past":
            out[-1] = Card(out[-1].starts, stretch.ends)
        else:
            out.append(Card(stretch.starts, stretch.ends) if stretch.what == "past" else stretch)
    return out


def hours_and_minutes(length: timedelta) -> tuple[int, int]:
    """Whole hours and minutes, seconds rounded to the nearest minute."""
    return divmod(round(length.total_seconds() / 60), 60)


def rounded(amount: int, unit: int, places_: int) -> Decimal:
    """``amount`` (integer, smallest unit) in ``unit`` to ``places_`` decimals, half to even."""
    return (Decimal(amount) / unit).quantize(Decimal(1).scaleb(-places_), ROUND_HALF_EVEN)


def whole_percent(share: float) -> int:
    """Percent rounded down, so that 100 is never said of what has not reached its limit (0.57 is 57, not 56)."""
    return int((Decimal(repr(share)) * 100) // 1)


def fill_cells(used: float) -> list[tuple[int, float]]:
    """(number 1 to 10, how full 0 to 1) of each step of a bath's wedge."""
    return [(n + 1, round(min(1.0, max(0.0, used * WEDGE_STEPS - n)), 3)) for n in range(WEDGE_STEPS)]


def bath_glyph(used: float, word: str) -> str:
    """The shape that stands beside the word: square, triangle from four fifths, octagon at its end."""
    if word == "spent" or used >= 1:
        return "octagon"
    return "triangle" if word == "tired" or used >= TIRED_AT else "square"


def teeth(kind: str) -> tuple[str, ...]:
    """The notch of a kind of station: one tooth for the kinds we know, two chosen from the name for any other."""
    key = kind.strip().lower()
    if key in KNOWN_KINDS:
        return KNOWN_KINDS[key]
    if "processor" in key:
        return KNOWN_KINDS["processor"]
    digest = sha256(key.encode()).digest()
    names = sorted(TEETH)
    return names[digest[0] % len(names)], names[digest[1] % len(names)]


def notch_path(kind: str) -> tuple[str, int]:
    """(SVG path, width in px) of a notch cut down from an edge at y = 0.5; 12 px high."""
    lead, gap, path, width = 2, 6, "M0 .5 h2 ", 2
    for number, name in enumerate(teeth(kind)):
        if number:
            path += f"h{gap} "
            width += gap
        across, shape = TEETH[name]
        path += shape + " "
        width += across
    return path + f"h{lead}", width + lead
