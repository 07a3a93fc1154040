"""Where everything of a bath's fan goes: what was recorded, what is expected, the limit, the age wall.  Pure.

Across, a place is in percent of the width, so that words keep their size; bands and lines, which only a viewBox can
stretch, are in thousandths of it (``WIDE``).  Down, everything is in px.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from studiodesk.timekeeping import day_span

from .fan_facts import MIDDLE, days_drawn, days_shown
from .fan_facts import FanFacts as FanFacts  # whoever asks for a fan imports it from here

WIDE = 1000
TOP, PLOT, BOTTOM = 66, 260, 36  # px: three lines of words, the plot, the dates
PEAK = 1.2  # of the limit: what is beyond is not drawn
PAST_MOST = timedelta(days=56)
PAST_OF_AHEAD = 1.5  # the past takes at most so much of what lies ahead
PAST_LEAST = 0.18  # of the width: room for the words of the scale
BANDS = ((95, 0.025, 0.975), (80, 0.1, 0.9), (50, 0.25, 0.75))
EDGE = 8  # percent: nearer to an edge a word starts or ends there instead of standing in the middle
POINTS_PER_PERCENT = 4
#: How many dates find room on a phone, from 600 px and from 900 px on.
DATES_SHOWN = (5, 10, 20)


@dataclass(frozen=True)
class Word:
    """A word's place: ``x`` in percent, ``y`` px; ``anchor`` is "start", "middle" or "end"."""

    x: float
    y: float
    anchor: str
    value: Any = None
    #: the least room in which it is shown: 0 always, 1 from 600 px, 2 from 900 px on, 3 never (a mark alone)
    room: int = 0


@dataclass(frozen=True)
class Fan:
    """The drawing: see the module's docstring for its units.  ``closed``: (x, width) in percent."""

    height: int
    now: Word
    bands: Sequence[tuple[int, str]]
    edges: Sequence[tuple[int, str]]
    middle: str
    recorded: str
    limit: float | None
    scale: Sequence[Word]
    age: Word | None
    closed: Sequence[tuple[float, float]]
    weeks: Sequence[Word]
    changes: Sequence[Word]
    shown: int  # how many of the facts' days are drawn

    top, plot = TOP, PLOT


class _Scale:
    """Moments and values to places."""

    def __init__(self, starts: datetime, ends: datetime, peak: float, zone: ZoneInfo) -> None:
        self.starts, self.seconds, self.peak, self.zone = starts, (ends - starts).total_seconds(), peak, zone

    def x(self, moment: datetime) -> float:
        since = moment.astimezone(UTC) - self.starts  # two times of one zone would be subtracted as the clock reads
        return round(100 * since.total_seconds() / self.seconds, 2)

    def day_ends(self, day: date) -> float:
        return self.x(day_span(day, self.zone).ends)

    def day_starts(self, day: date) -> float:
        return self.x(day_span(day, self.zone).starts)

    def y(self, value: float) -> float:
        return round(TOP + PLOT * (1 - min(value, self.peak) / self.peak), 1)

    def point(self, x: float, value: float) -> str:
        return f"{round(x * WIDE / 100, 1):g} {self.y(value):g}"


def drawn(facts: FanFacts, now: datetime, zone: ZoneInfo, changes: Sequence[datetime] = ()) -> Fan:
    """The whole drawing.  ``changes``: when a bath change is planned.  ``ValueError`` without a day ahead."""
    if not facts.days:
        raise ValueError("a fan needs at least one day ahead")
    shown, reach = days_shown(facts), days_drawn(facts)
    last = day_span(facts.days[shown - 1], zone).ends
    scale = _Scale(_first_moment(facts, now, last), last, _peak(facts, reach), zone)
    at_now = facts.recorded[-1][1] if facts.recorded else 0.0
    x_now = scale.x(now)
    xs = [scale.day_ends(day) for day in facts.days[:reach]]
    wall = _wall(facts, scale)
    line = {
        share: _to_the_top(_up_to(wall, [(x_now, at_now), *zip(xs, values[:reach], strict=True)]), scale)
        for share, values in facts.bands.items()
    }
    return Fan(
        height=TOP + PLOT + BOTTOM,
        now=Word(x_now, 14, _anchor(x_now)),
        bands=[(wide, _closed_path(line[low], line[high])) for wide, low, high in BANDS],
        edges=[(wide, _path(_inside(line[share]))) for wide, low, high in BANDS for share in (low, high)],
        middle=_path(_inside(line[MIDDLE])),
        recorded=_path(_recorded(facts, scale, now, at_now)),
        limit=None if facts.in_m2 else scale.y(1),
        scale=_scale_words(facts, scale),
        age=_age_word(facts, scale, shown),
        closed=_closed(facts, scale, shown),
        weeks=_week_words(facts, scale, now, shown),
        changes=[Word(scale.x(at), 58, _side(scale.x(at), 55), at) for at in changes if now <= at < last],
        shown=shown,
    )


def _first_moment(facts: FanFacts, now: datetime, last: datetime) -> datetime:
    now = now.astimezone(UTC)
    least = (last - now) * PAST_LEAST / (1 - PAST_LEAST)
    since = now - facts.recorded[0][0].astimezone(UTC) if facts.recorded else timedelta()
    return now - max(least, min(since, PAST_MOST, (last - now) * PAST_OF_AHEAD))


def _peak(facts: FanFacts, reach: int) -> float:
    if not facts.in_m2:
        return PEAK
    highest = max([*facts.bands[0.9][:reach], *(used for _at, used in facts.recorded), 0.0])
    return round_up(highest) if highest > 0 else 1.0


def round_up(value: float) -> float:
    """The next of 1, 2, 5, 10, 20 … that is not less."""
    power = 10.0 ** math.floor(math.log10(value))
    return next(step * power for step in (1, 2, 5, 10) if step * power >= value * (1 - 1e-9))


def _to_the_top(line: Sequence[tuple[float, float]], scale: _Scale) -> list[str]:
    """The points of a line that never falls, with the one where it leaves the drawing; from there it runs along."""
    points: list[str] = []
    before: tuple[float, float] | None = None
    for x, value in line:
        if before is not None and before[1] < scale.peak < value:
            part = (scale.peak - before[1]) / (value - before[1])
            points.append(scale.point(before[0] + part * (x - before[0]), scale.peak))
        points.append(scale.point(x, value))
        before = x, value
    return points


def _inside(points: Sequence[str]) -> list[str]:
    """Of such a line what lies below the upper edge, and the point where it meets it."""
    top = next((n for n, point in enumerate(points) if point.endswith(f" {TOP}")), len(points))
    return list(points[: top + 1])


def _path(points: Sequence[str]) -> str:
    return "M" + " L".join(points) if points else ""


def _closed_path(low: Sequence[str], high: Sequence[str]) -> str:
    return _path([*low, *reversed(high)]) + " Z"


def _recorded(facts: FanFacts, scale: _Scale, now: datetime, at_now: float) -> list[str]:
    """Step by step, for sheets go through at a moment; of many in one place only the last."""
    kept: dict[int, tuple[float, float]] = {}
    before: float | None = None
    for moment, used in facts.recorded:
        x = scale.x(moment)
        if x < 0:
            before = used
        else:
            kept[int(x * POINTS_PER_PERCENT)] = (x, used)
    points = [] if before is None else [scale.point(0, before)]
    last = before
    for x, used in kept.values():
        if last is not None and used != last:
            points.append(scale.point(x, last))
        points.append(scale.point(x, used))
        last = used
    return [*points, scale.point(scale.x(now), at_now)] if points else []


def _anchor(x: float) -> str:
    return "start" if x < EDGE else "end" if x > 100 - EDGE else "middle"


def _side(x: float, turns: float) -> str:
    """A longer word stands beside its line, away from now."""
    return "start" if x <= turns else "end"


def _scale_words(facts: FanFacts, scale: _Scale) -> list[Word]:
    marks = (scale.peak / 2, scale.peak) if facts.in_m2 else (0.5, 1.0)
    return [Word(0, scale.y(value), "start", value) for value in marks]


def _age_word(facts: FanFacts, scale: _Scale, shown: int) -> Word | None:
    """The wall stands at the moment at which the bath becomes too old."""
    x = _wall(facts, scale)
    if x is None or facts.age_day is None or not facts.days[0] <= facts.age_day <= facts.days[shown - 1]:
        return None
    return Word(x, 36, _side(x, 70), facts.age_day)


def _wall(facts: FanFacts, scale: _Scale) -> float | None:
    """Where across the bath becomes too old; of a day without its moment the day's end."""
    if facts.age_day is None:
        return None
    moment: datetime | None = facts.row.age_ends_at
    return scale.day_ends(facts.age_day) if moment is None else scale.x(moment)


def _up_to(wall: float | None, line: Sequence[tuple[float, float]]) -> Sequence[tuple[float, float]]:
    """What of a line lies before the wall, and the point where it meets it: behind it there is another tank."""
    if wall is None or not line or line[-1][0] <= wall:
        return line
    kept = [point for point in line if point[0] <= wall]
    if not kept:
        return line[:1]
    (x, value), (far, beyond) = kept[-1], line[len(kept)]
    part = (wall - x) / (far - x)
    return [*kept, (wall, value + part * (beyond - value))] if part > 0 else kept


def _closed(facts: FanFacts, scale: _Scale, shown: int) -> list[tuple[float, float]]:
    """Neighbouring closed days are one piece."""
    found: list[tuple[float, float]] = []
    for day in facts.days[:shown]:
        if day not in facts.closed:
            continue
        starts, ends = scale.day_starts(day), scale.day_ends(day)
        if found and math.isclose(sum(found[-1]), starts, abs_tol=0.02):
            starts = found.pop()[0]
        found.append((starts, round(ends - starts, 2)))
    return found


def _week_words(facts: FanFacts, scale: _Scale, now: datetime, shown: int) -> list[Word]:
    """A mark at each Monday; dates only as many as find room."""
    mondays = []
    day = scale.starts.astimezone(scale.zone).date()
    while day <= facts.days[shown - 1]:
        if day.weekday() == 0 and scale.day_starts(day) >= 0:
            mondays.append(day)
        day += timedelta(days=1)
    every = [max(1, math.ceil(len(mondays) / most)) for most in DATES_SHOWN]
    words = []
    for number, monday in enumerate(mondays):
        x = scale.day_starts(monday)
        room = next((room for room, stride in enumerate(every) if number % stride == 0), len(every))
        words.append(Word(x, TOP + PLOT + 26, _anchor(x), monday, room))
    return words
