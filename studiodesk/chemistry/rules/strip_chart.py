"""Where everything of a control chart goes: one panel for each patch, a step for each strip.  Pure.

Across, places are in percent; down, in px.  What is drawn is the deviation from the aim, so that every channel of a
patch shares one line for its aim; a strip stands a step from the next, however many days lie between them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from .strips import SPREAD, Aim

PLOT, TITLE, GAP, TOP, DATES = 184, 26, 16, 4, 30
SHAPES = ("square", "triangle", "octagon")
WIDE = 1000
ROOM = Decimal("1.25")


@dataclass(frozen=True)
class Point:
    x: float
    y: float
    shape: str
    channel: str


@dataclass(frozen=True)
class Panel:
    """``action``, ``control``: (y, deviation) of each limit; ``paths``: of each channel, in thousandths across."""

    patch: str
    top: int
    aim: float
    action: Sequence[tuple[float, Decimal]]
    control: Sequence[tuple[float, Decimal]]
    points: Sequence[Point]
    paths: Sequence[str]
    channels: Sequence[tuple[str, str]]

    @property
    def title(self) -> int:
        return self.top - 8

    @property
    def base(self) -> int:
        return self.top + PLOT


@dataclass(frozen=True)
class Chart:
    height: int
    panels: Sequence[Panel]
    dates_y: int


def across(number: int, of: int) -> float:
    """The place of a strip in percent: the first near the left edge, the last where the words begin."""
    return 50.0 if of < 2 else round(4 + 78 * number / (of - 1), 2)


def chart(strips: Sequence[Mapping[tuple[str, str], Decimal]], aims: Mapping[tuple[str, str], Aim]) -> Chart:
    """``strips``: the deviations of each strip by patch and channel, in the order of time."""
    patches = sorted({patch for one in strips for patch, channel in one if channel != SPREAD})
    panels, top = [], TOP
    for patch in patches:
        panels.append(_panel(patch, strips, aims, top + TITLE))
        top += TITLE + PLOT + GAP
    return Chart(top + DATES, panels, top + 4)


def _panel(
    patch: str, strips: Sequence[Mapping[tuple[str, str], Decimal]], aims: Mapping[tuple[str, str], Aim], top: int
) -> Panel:
    channels = sorted({channel for one in strips for of, channel in one if of == patch and channel != SPREAD})
    limits = {
        kind: sorted(
            {
                value
                for channel in channels
                if (aim := aims.get((patch, channel))) is not None
                for value in (getattr(aim, f"{kind}_below"), getattr(aim, f"{kind}_above"))
                if value is not None
            }
        )
        for kind in ("action", "control")
    }
    values = [one[patch, channel] for one in strips for channel in channels if (patch, channel) in one]
    reach = max([abs(value) for value in (*values, *limits["action"], *limits["control"])], default=Decimal(0))
    reach = reach * ROOM or Decimal("0.01")

    def y(value: Decimal) -> float:
        return round(float(top + PLOT * (1 - (value + reach) / (2 * reach))), 1)

    points, paths = [], []
    for number, channel in enumerate(channels):
        shape, path = SHAPES[number % len(SHAPES)], ""
        for place, one in enumerate(strips):
            if (patch, channel) in one:
                x, at = across(place, len(strips)), y(one[patch, channel])
                points.append(Point(x, at, shape, channel))
                path += f"{'L' if path else 'M'}{x * WIDE / 100:g} {at:g}"
        paths.append(path)
    return Panel(
        patch=patch,
        top=top,
        aim=y(Decimal(0)),
        action=[(y(value), value) for value in limits["action"]],
        control=[(y(value), value) for value in limits["control"]],
        points=points,
        paths=paths,
        channels=[(channel, SHAPES[number % len(SHAPES)]) for number, channel in enumerate(channels)],
    )
