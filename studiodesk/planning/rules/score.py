"""How far earlier forecasts were right, and how much wider the next ones have to be for it.  Pure."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import accumulate
from statistics import NormalDist
from zoneinfo import ZoneInfo

from studiodesk.timekeeping import day_span

from .passage import chance_of
from .values import HORIZON_DAYS

#: The spans over which the area foretold is held against the area that came, days.
SPANS = (7, 14, 28)
#: The widening begins at 1 as if six forecasts had been right, and stays within what a forecast can be good for.
WORTH, MOST_WIDENED = 6.0, 6.0
NORMAL = NormalDist()
LEAST_SHARE = 1e-4  # a share of exactly 0 or 1 says no more than this
A_SHEET_MM2 = 50_000  # less than about one sheet of 8×10 is as good as nothing


class Fed:
    """What went through one processor, as (moment, mm²) in any order: the area between two moments."""

    def __init__(self, sheets: Iterable[tuple[datetime, int]]) -> None:
        ordered = sorted(sheets)
        self._at = [at for at, _ in ordered]
        self._sums = list(accumulate((area for _, area in ordered), initial=0))

    def between(self, since: datetime, until: datetime) -> int:
        """mm² in ``[since, until)``."""
        return self._sums[bisect_left(self._at, until)] - self._sums[bisect_left(self._at, since)]

    def reaches(self, since: datetime, area: float) -> datetime | None:
        """When so much had gone through since then; None if not yet."""
        wanted = self._sums[bisect_left(self._at, since)] + area
        for n in range(bisect_left(self._at, since), len(self._at)):
            if self._sums[n + 1] >= wanted:
                return self._at[n]
        return None


@dataclass(frozen=True)
class Said:
    """A kept forecast as far as it is scored; ``room_mm2`` None: use reaches no limit of it."""

    at: datetime
    day: date
    p10: date | None
    p90: date | None
    room_mm2: int | None
    age_ends_at: datetime | None
    idle_mm2: int = 0

    @property
    def has_a_range(self) -> bool:
        """Something could come too early or too late: not so for a fixed age, or where nothing is foretold."""
        return self.p10 is not None and self.p10 != self.p90


@dataclass(frozen=True)
class Outcome:
    """``matured``: the date is known by now, or known to lie beyond the horizon (``passed_on`` None)."""

    matured: bool
    passed_on: date | None = None
    was_inside: bool | None = None


def outcome(said: Said, fed: Fed, today: date, zone: ZoneInfo) -> Outcome:
    """What came of a forecast, from days that are over; ``was_inside`` only where it named a range.

    The sheets go on being counted whatever was poured anew since: it is the use that was foretold.
    """
    last = said.day + timedelta(days=HORIZON_DAYS)
    ends = []
    if said.age_ends_at is not None:
        ends.append(said.age_ends_at.astimezone(zone).date())
    if said.room_mm2 is not None:
        reached = _by_use(said, fed, min(today, last + timedelta(days=1)), zone)
        ends += [reached] if reached is not None else []
    passed = max(said.day, min(ends)) if ends else None
    if passed is None or passed > last:
        return Outcome(last < today, None, said.p90 is None if last < today and said.has_a_range else None)
    if passed >= today:
        return Outcome(False)
    inside = said.p10 is not None and said.p10 <= passed and (said.p90 is None or passed <= said.p90)
    return Outcome(True, passed, inside if said.has_a_range else None)


def _by_use(said: Said, fed: Fed, until: date, zone: ZoneInfo) -> date | None:
    """The local day on which use had taken the room, of the days before ``until``; idle days take theirs."""
    room, since = said.room_mm2 or 0, _just_after(said.at)
    if not said.idle_mm2:
        reached = fed.reaches(since, room)
        return reached.astimezone(zone).date() if reached is not None else None
    gone, day = 0, said.day
    while day < until:
        span = day_span(day, zone)
        came = fed.between(max(since, span.starts), span.ends)
        gone += came or said.idle_mm2
        if gone >= room:
            return day
        day += timedelta(days=1)
    return None


def _just_after(at: datetime) -> datetime:
    """Sheets of that very instant were counted already, in what was used and in what was known."""
    return at + timedelta.resolution


def due_spans(day: date, today: date) -> list[int]:
    """The spans whose last day is over."""
    return [span for span in SPANS if day + timedelta(days=span) < today]


def shares(
    at: datetime, day: date, course: Sequence[Sequence[float]], spans: Sequence[int], fed: Fed, zone: ZoneInfo
) -> dict[str, float]:
    """Span (days) → the share of what was foretold for it that stayed under what came."""
    out = {}
    for span in spans:
        if span < len(course):
            came = fed.between(_just_after(at), day_span(day + timedelta(days=span), zone).ends)
            out[str(span)] = share_of(course[span][0], course[span][1], came)
    return out


def share_of(mean: float, variance: float, came: int) -> float:
    """P(X ≤ came).  Nothing at all is taken as the middle of what is under one sheet: a gamma knows no exact 0."""
    under = 1 - chance_of(mean, variance, max(came, A_SHEET_MM2))
    return under if came else under / 2


def squared_miss(shares: Mapping[str, float], widened: float) -> float | None:
    """How far off the area was, in squared standard deviations of the forecast before it was widened.

    The mean over the spans that are over by now; about 1 if the forecast's spread is right.
    """
    found = [NORMAL.inv_cdf(min(1 - LEAST_SHARE, max(LEAST_SHARE, share))) ** 2 for share in shares.values()]
    return widened * sum(found) / len(found) if found else None


def widening(misses: Sequence[float]) -> float:
    """The factor on the variance after these squared misses: 1 as long as they are what they should be, else more."""
    return min(MOST_WIDENED, max(1.0, (WORTH + sum(misses)) / (WORTH + len(misses))))
