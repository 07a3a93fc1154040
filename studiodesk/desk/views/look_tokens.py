"""The tokens of the look as the stylesheet has them, with the contrast that the WCAG 2.2 formula gives.

The page must never say another value than the one in force, so it reads the file.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

STYLESHEET = Path(__file__).resolve().parents[2] / "static" / "studiodesk" / "studio.css"
BLOCKS = {"light": ":root, .light {", "dark": "  .dark {"}
SPACES = (4, 5, 6, 8, 10, 13, 16, 20, 25, 32, 40, 50, 64)
#: (what is read, what it lies on, the least contrast that does): texts 4.5, lines 3 (WCAG 2.2, 1.4.3 and 1.4.11).
PAIRS = (
    ("ink", "desk", 4.5), ("ink", "sheet", 4.5), ("ink", "step1", 4.5), ("ink", "step2", 4.5),
    ("on-dark", "step3", 4.5), ("on-dark", "dmax", 4.5), ("pencil", "desk", 4.5), ("pencil", "bare", 4.5),
    ("blue", "desk", 4.5), ("blue", "bare", 4.5), ("on-blue", "blue", 4.5), ("selenium", "bare", 4.5),
    ("copper", "sheet", 4.5),
    ("sepia", "sheet", 4.5), ("vanadium", "sheet", 4.5), ("ink", "tint-blue", 4.5), ("ink", "tint-copper", 4.5),
    ("ink", "tint-sepia", 4.5), ("ink", "tint-vanadium", 4.5), ("rule", "desk", 3.0), ("rule", "sheet", 3.0),
)  # fmt: skip


@dataclass(frozen=True)
class Token:
    """``name`` without its dashes; ``on_sheet``: its contrast with the sheet that it is shown on."""

    name: str
    value: str
    on_sheet: float

    @property
    def fill(self) -> str:
        return f"var(--{self.name})"


@dataclass(frozen=True)
class Pair:
    text: str
    ground: str
    ratio: float
    least: float


def luminance(colour: str) -> float:
    """Relative luminance of "#rrggbb": WCAG 2.2, "Definitions"."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """From 1 to 21: WCAG 2.2, "Definitions", contrast ratio."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


@cache
def _values(scheme: str) -> Mapping[str, str]:
    """Name → colour of a scheme, ``var(--x)`` followed; in the stylesheet's order."""
    text = STYLESHEET.read_text(encoding="utf-8")
    block = text.split(BLOCKS[scheme], 1)[1].split("}", 1)[0]
    found = dict(re.findall(r"--([a-z0-9-]+):\s*([^;]+);", block))
    for name in found:
        while reference := re.fullmatch(r"var\(--([a-z0-9-]+)\)", found[name]):
            found[name] = found[reference[1]]
    return found


def tokens(scheme: str) -> list[Token]:
    values = _values(scheme)
    return [Token(name, value, contrast(value, values["sheet"])) for name, value in values.items()]


def pairs(scheme: str) -> list[Pair]:
    values = _values(scheme)
    return [Pair(text, ground, contrast(values[text], values[ground]), least) for text, ground, least in PAIRS]
