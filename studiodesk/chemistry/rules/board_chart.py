"""Where everything of a bath's chart goes: panels one above the other over one scale of time.  Pure.

Across, places are in percent of the width, so that words keep their size; lines, which only a viewBox can stretch, in
thousandths of it (``WIDE``).  Down, everything is in px.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from studiodesk.timekeeping import day_span, studio_day

WIDE = 1000
TITLE, PLOT, GAP = 32, 112, 13  # px of each panel: its name, its plot, what parts it from the next
TOP, MARKS, DATES = 4, 30, 30
POINTS_PER_PERCENT = 4
EDGE = 8  # percent: nearer to an edge a word starts or ends there
#: How many dates find room on a phone, from 600 px and from 900 px on.
DATES_SHOWN = (3, 8, 14)
Height = Callable[[float], float]
#: A moment and a value; ``None`` breaks the line (another tank begins).
Line = Sequence[tuple[datetime, float] | None]


@dataclass(frozen=True)
class Wanted:
    """One panel to draw.  ``name`` is a code; ``lines``: css class → line; ``points``: (moment, value, shape).

    Lines are of steps.  ``band``: the tolerance that readings should keep to.
    """

    name: str
    lines: Sequence[tuple[str, Line]] = ()
    points: Sequence[tuple[datetime, float, str]] = ()
    limit: float | None = None
    band: tuple[float, float] | None = None
    from_zero: bool = True


@dataclass(frozen=True)
class Mark:
    """A place across (percent) with what stands there; ``anchor`` and ``room`` as the fan's words have them."""

    x: float
    value: object
    anchor: str = "middle"
    room: int = 0


@dataclass(frozen=True)
class Panel:
    """``top`` of its plot; ``scale``: (value, y); ``points``: (x, y, shape); ``paths``: (class, path)."""

    name: str
    top: int
    paths: Sequence[tuple[str, str]]
    points: Sequence[tuple[float, float, str]]
    scale: Sequence[tuple[float, float]]
    limit: float | None = None
    band: tuple[float, float] | None = None

    @property
    def title(self) -> int:
        """The base line of its name."""
        return self.top - 14

    @property
    def base(self) -> int:
        return self.top + PLOT


@dataclass(frozen=True)
class Chart:
    height: int
    panels: Sequence[Panel]
    marks: Sequence[Mark]
    marks_y: int
    days: Sequence[Mark]
    dates_y: int
    refills: Sequence[float] = field(default_factory=list)


class _Across:
    def __init__(self, starts: datetime, ends: datetime) -> None:
        # In UTC: two moments of one zone would be subtracted as the clock reads.
        self.starts = starts.astimezone(UTC)
        self.seconds = max(1.0, (ends.astimezone(UTC) - self.starts).total_seconds())

    def x(self, moment: datetime) -> float:
        return round(
            min(100.0, max(0.0, 100 * (moment.astimezone(UTC) - self.starts).total_seconds() / self.seconds)), 2
        )


def round_up(value: float) -> float:
    """The next of 1, 2, 5, 10, 20 … that is not less; 1 for what is not more than nothing."""
    if value <= 0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(value))
    return next((step * power for step in (1, 2, 5, 10) if step * power >= value * (1 - 1e-9)), 10 * power)


def drawn(
    wanted: Iterable[Wanted],
    marks: Iterable[tuple[datetime, str]],
    refills: Iterable[datetime],
    starts: datetime,
    ends: datetime,
    zone: ZoneInfo,
) -> Chart:
    """The whole drawing; ``marks``: (moment, kind of entry), ``refills``: where one tank ends and the next begins."""
    across, panels, top = _Across(starts, ends), [], TOP
    for one in wanted:
        panels.append(_panel(one, across, top + TITLE))
        top += TITLE + PLOT + GAP
    marks_y = top + MARKS // 2
    return Chart(
        height=top + MARKS + DATES,
        panels=panels,
        marks=[Mark(across.x(at), kind) for at, kind in marks],
        marks_y=marks_y,
        days=_days(across, starts, ends, zone),
        dates_y=top + MARKS,
        refills=[across.x(at) for at in refills],
    )


def _panel(one: Wanted, across: _Across, top: int) -> Panel:
    values = [point[1] for _css, line in one.lines for point in line if point] + [
        value for _at, value, _s in one.points
    ]
    least, most = _span([*values, *(one.band or ()), *([one.limit] if one.limit is not None else [])], one.from_zero)

    def y(value: float) -> float:
        return round(top + PLOT * (1 - (min(max(value, least), most) - least) / (most - least)), 1)

    band = one.band
    return Panel(
        name=one.name,
        top=top,
        paths=[(css, path) for css, line in one.lines if (path := _steps(line, across, y))],
        points=[(across.x(at), y(value), shape) for at, value, shape in one.points],
        scale=[(value, y(value)) for value in (least, (least + most) / 2, most)],
        limit=None if one.limit is None else y(one.limit),
        band=None if band is None else (y(band[1]), round(y(band[0]) - y(band[1]), 1)),
    )


def _span(values: Sequence[float], from_zero: bool) -> tuple[float, float]:
    """The least and the greatest value of a scale, round ones with room above."""
    if from_zero:
        return 0.0, round_up(max(values, default=0.0))
    low, high = min(values, default=0.0), max(values, default=1.0)
    step = round_up(max(high - low, 0.5) / 4)
    first, last = math.floor(low / step) * step, math.ceil(high / step) * step
    return first, last if last > first else first + step


def _steps(line: Line, across: _Across, y: Height) -> str:
    """Step by step, for things happen at a moment; of many in one place only the last."""
    pieces: list[dict[int, tuple[float, float]]] = [{}]
    first: list[tuple[float, float]] = []
    for point in line:
        if point is None:
            pieces.append({})
            continue
        x = across.x(point[0])
        if not pieces[-1]:
            first.append((x, point[1]))
        pieces[-1][int(x * POINTS_PER_PERCENT)] = (x, point[1])
    path = ""
    for begins, piece in zip(first, [one for one in pieces if one], strict=True):
        path += _piece(begins, list(piece.values()), y)
    return path.strip()


def _piece(begins: tuple[float, float], points: Sequence[tuple[float, float]], y: Height) -> str:
    last = begins[1]
    text = f" M{begins[0] * WIDE / 100:g} {y(last):g}"
    for x, value in points:
        if value != last:
            text += f" L{x * WIDE / 100:g} {y(last):g}"
        text += f" L{x * WIDE / 100:g} {y(value):g}"
        last = value
    return text


def _anchor(x: float) -> str:
    return "start" if x < EDGE else "end" if x > 100 - EDGE else "middle"


def _days(across: _Across, starts: datetime, ends: datetime, zone: ZoneInfo) -> list[Mark]:
    """A mark at the beginning of each day, or of each Monday if there are many; dates only as find room."""
    found = []
    day, last = studio_day(starts, zone), studio_day(ends, zone)
    weekly = (last - day).days > 14
    while day <= last:
        at = day_span(day, zone).starts
        if at >= starts and (not weekly or day.weekday() == 0):
            found.append(day)
        day += timedelta(days=1)
    every = [max(1, math.ceil(len(found) / most)) for most in DATES_SHOWN]
    marks = []
    for number, day in enumerate(found):
        room = next((room for room, stride in enumerate(every) if number % stride == 0), len(every))
        x = across.x(day_span(day, zone).starts)
        marks.append(Mark(x, day, _anchor(x), room))
    return marks
