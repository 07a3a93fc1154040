"""The one table of ``make bench``: what, its figure, its ratio to the floor of the same run, the bar, the verdict."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

HEADS, WIDTHS = ("what", "figure", "ratio", "bar"), (66, 30, 18, 12)
HOLDS, DOES_NOT_HOLD = "holds", "DOES NOT HOLD"


@dataclass(frozen=True)
class Line:
    """``holds`` None: nothing was promised of it."""

    what: str
    figure: str
    ratio: str = ""
    bar: str = ""
    holds: bool | None = None

    def __str__(self) -> str:
        cells = (self.what, self.figure, self.ratio, self.bar)
        verdict = "" if self.holds is None else HOLDS if self.holds else DOES_NOT_HOLD
        return ("".join(f"{cell:<{width}}" for cell, width in zip(cells, WIDTHS, strict=True)) + verdict).rstrip()


def say(*args: Any, **kwargs: Any) -> Line:
    """A line as soon as it is known: a run takes minutes."""
    line = Line(*args, **kwargs)
    print(line, flush=True)
    return line


def head() -> None:
    print("".join(f"{name:<{width}}" for name, width in zip(HEADS, WIDTHS, strict=True)) + "verdict")


def milliseconds(work: Callable[[], Any]) -> float:
    began = time.perf_counter()
    work()
    return (time.perf_counter() - began) * 1000


def timed(work: Callable[[], Any], rounds: int) -> list[float]:
    """Milliseconds of each round, after one to warm up."""
    work()
    return [milliseconds(work) for _ in range(rounds)]


def spread(times: Sequence[float]) -> str:
    """The median, with the quickest and the slowest in brackets."""
    return f"{statistics.median(times):.1f} ms ({min(times):.1f} to {max(times):.1f})"


def within(what: str, times: Sequence[float], bar_ms: float, ratio: str = "") -> Line:
    """A median that has to stay under a bar in milliseconds."""
    return say(what, spread(times), ratio, f"≤ {bar_ms:.0f} ms", statistics.median(times) <= bar_ms)


def times_as_much(what: str, times: Sequence[float], floor: Sequence[float], bar: float) -> Line:
    """The floor's figure, and how often the median of ``times`` is that of ``floor``."""
    ratio = statistics.median(times) / statistics.median(floor)
    return say(what, spread(floor), f"{ratio:.1f} ×", f"≤ {bar:g} ×", ratio <= bar)
