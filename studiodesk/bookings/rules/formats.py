"""Negative formats as people write them: "35 mm", "6×7", "4x5 in", "13×18 cm".  Pure.

Sizes are nominal: 6×7 is called so whatever its frame measures to the millimetre.  Where no unit stands, centimetres
are meant, but for the sheet films that everybody names in inches (common practice of the trade).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

#: "35 mm" is the film's width; its usual frame is 24 × 36 mm (common practice).
NAMED = {"35 mm": (24, 36), "135": (24, 36), "small format": (24, 36), "half frame": (18, 24), "110": (13, 17)}
EDGES = re.compile(r"^(\d+(?:[.,]\d+)?)\s*[×xX*]\s*(\d+(?:[.,]\d+)?)\s*(mm|cm|in|inch|inches|\"|″)?$")
IN_INCHES = {("4", "5"), ("5", "7"), ("8", "10"), ("11", "14")}
UNITS = {"mm": 1.0, "cm": 10.0, None: 10.0, "in": 25.4, "inch": 25.4, "inches": 25.4, '"': 25.4, "″": 25.4}
#: From 9 × 12 cm and 4 × 5 in on a negative is called large (common practice).
LARGE_MM = 89


@dataclass(frozen=True, order=True)
class Frame:
    """A negative's edges in mm, the shorter first."""

    short_mm: int
    long_mm: int


def edges_mm(written: str) -> tuple[int, int] | None:
    """Two edges in mm, the shorter first: "24×30 cm", "8x10 in"; None if it is written in no way known here."""
    found = EDGES.match(" ".join(written.split()).casefold())
    if found is None:
        return None
    one, other, unit = found.groups()
    if unit is None and ((one, other) in IN_INCHES or (other, one) in IN_INCHES):
        unit = "in"
    short, long = sorted(round(float(edge.replace(",", ".")) * UNITS[unit]) for edge in (one, other))
    return (short, long) if short > 0 else None


def frame(written: str) -> Frame | None:
    """The frame that is meant; None if it is written in no way known here."""
    text = " ".join(written.split()).casefold()
    named = NAMED.get(" ".join(text.replace("mm", " mm").split()))
    edges = named or edges_mm(text)
    return None if edges is None else Frame(*edges)


def same_format(one: str, other: str) -> bool:
    """Do both ways of writing mean one format?  What is written in no known way is compared as text."""
    frames = frame(one), frame(other)
    if None in frames:
        return " ".join(one.split()).casefold() == " ".join(other.split()).casefold()
    return frames[0] == frames[1]


def is_large(written: str) -> bool:
    found = frame(written)
    return found is not None and found.short_mm >= LARGE_MM


def smallest_first(formats: list[str]) -> list[str]:
    """Each format once, the smallest first; those written in no known way at the end."""
    out: list[str] = []
    for written in formats:
        if not any(same_format(written, one) for one in out):
            out.append(written)
    return sorted(out, key=lambda text: (frame(text) is None, frame(text) or Frame(0, 0), text))
