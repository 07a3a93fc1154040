"""Reads the tokens of our stylesheets, and the WCAG sums on them."""

from __future__ import annotations

import re
from pathlib import Path

import studiodesk

STATIC = Path(studiodesk.__file__).parent / "static" / "studiodesk"
TEMPLATES = sorted(Path(studiodesk.__file__).parent.rglob("*.html"))
COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)


def source(name: str) -> str:
    return COMMENT.sub("", (STATIC / name).read_text(encoding="utf-8"))


def block(text: str, opening: str) -> str:
    """What stands between the braces that follow ``opening``, nested braces and all."""
    at = text.index("{", text.index(opening)) + 1
    depth, end = 1, at
    while depth:
        depth += {"{": 1, "}": -1}.get(text[end], 0)
        end += 1
    return text[at : end - 1]


def tokens(rules: str) -> dict[str, str]:
    """The custom properties of a block, ``var(--x)`` followed to its colour."""
    raw = dict(re.findall(r"--([a-z0-9-]+):\s*([^;]+);", rules))
    return {name: followed(value, raw) for name, value in raw.items()}


def followed(value: str, raw: dict[str, str]) -> str:
    while reference := re.fullmatch(r"var\(--([a-z0-9-]+)\)", value.strip()):
        value = raw[reference[1]]
    return value.strip()


def light() -> dict[str, str]:
    return tokens(block(source("studio.css"), ":root, .light"))


def raw(opening: str) -> dict[str, str]:
    """The custom properties of the block behind ``opening``, as they are written."""
    return dict(re.findall(r"--([a-z0-9-]+):\s*([^;]+);", block(source("studio.css"), opening)))


def dark() -> dict[str, str]:
    both = raw(":root, .light") | raw("(prefers-color-scheme: dark)")
    return {name: followed(value, both) for name, value in both.items()}


def tablet(look: str) -> dict[str, str]:
    return tokens(block(source("tablet.css"), f"html.{look}"))


def channels(colour: str) -> tuple[int, int, int]:
    """ "#f00" or "#ff0000" as three numbers 0 to 255."""
    digits = colour.removeprefix("#")
    if len(digits) == 3:
        digits = "".join(digit * 2 for digit in digits)
    return int(digits[0:2], 16), int(digits[2:4], 16), int(digits[4:6], 16)


def luminance(colour: str) -> float:
    """Relative luminance: WCAG 2.2, "Definitions", relative luminance (its sRGB threshold 0.04045)."""
    linear = [c / 255 / 12.92 if c / 255 <= 0.04045 else ((c / 255 + 0.055) / 1.055) ** 2.4 for c in channels(colour)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio: WCAG 2.2, "Definitions", contrast ratio, (L1 + 0.05) / (L2 + 0.05)."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)
