"""Which of many free times are worth showing: the best, with why, spread over days and stations.  Pure.

Ten starts of one evening at one booth help nobody choose, so no two offers of one station share an instant, and no day
has a third offer while another day has none to show but its first two.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from functools import cached_property, lru_cache
from zoneinfo import ZoneInfo

from studiodesk.answers import Refusal
from studiodesk.timekeeping import Span, studio_day

from .asking import next_on_grid
from .free_times import Offer
from .needs import Need, Traits

HOUR = timedelta(hours=1)
MOST, A_DAY, MOST_REASONS = 10, 2, 4
#: So few others in the house are "hardly anybody".
QUIET = 2
#: What a time gains by each reason; those of weight 0 are said and decide nothing, for every offer has them.
WEIGHTS = {
    "supervised": 0.0,
    "light_source": 0.0,
    "step_free": 0.0,
    "takes": 0.0,
    "prints": 0.0,
    "usual_day": 3.0,
    "warm": 3.0,
    "same_light": 2.0,
    "soonest": 1.0,
    "ready": 1.0,
    "own_light": 1.0,
    "longer": 1.0,
    "quiet": 1.0,
    "all_asked": 0.0,
}
#: What a time loses for each day it lies further away.
A_DAY_LATER = 0.25

#: Every station of a day asks the same of the same moments, and each offer that is shown asks it of all that are left.
_day_of = lru_cache(maxsize=4096)(studio_day)
_on_grid = lru_cache(maxsize=4096)(next_on_grid)


@dataclass(frozen=True)
class Chance:
    """A station to be had from ``starts`` on.  ``last``: as late as that one may begin with nothing else changed;
    ``place`` is the processor's key; ``beside`` a second station for a friend.
    """

    station: str
    starts: datetime
    ends: datetime
    last: datetime
    place: int | None = None
    beside: str = ""
    reasons: tuple[str, ...] = ()

    @property
    def span(self) -> Span:
        return Span(self.starts, self.ends)

    def clashes(self, other: Chance) -> bool:
        """At one station, with an instant in common."""
        return self.station == other.station and self.starts < other.ends and other.starts < self.ends


@dataclass(frozen=True)
class Around:
    """What stands around the times: ``heated``, processor's key → stays booked at it; ``ready``, processor's key → its
    warm-up; ``lit``: when a shared room (by name) is kept in the light that is needed; ``inside``: who is in.
    """

    zone: ZoneInfo
    opened: Sequence[Span] = ()
    heated: Mapping[int, Sequence[Span]] = field(default_factory=dict)
    warm_up: Mapping[int, timedelta] = field(default_factory=dict)
    lit: Mapping[str, Sequence[Span]] = field(default_factory=dict)
    inside: Sequence[Span] = ()
    usual_days: frozenset[int] = frozenset()
    supervised: Sequence[Span] | None = None

    @cached_property
    def _came(self) -> list[datetime]:
        return sorted(span.starts for span in self.inside)

    @cached_property
    def _went(self) -> list[datetime]:
        return sorted(span.ends for span in self.inside)

    def others_in(self, stay: Span) -> int:
        """How many of ``inside`` share an instant with ``stay``: who came before it ends, less who went before it."""
        return bisect_left(self._came, stay.ends) - bisect_right(self._went, stay.starts)


def clipped(runs: Iterable[Offer], window: Span, grid: timedelta) -> Iterator[Offer]:
    """The runs as far as their stays lie within ``window``; they begin no earlier than it."""
    for run in runs:
        room = min(run.last, window.ends - run.length) - run.first
        if run.first >= window.starts and room >= timedelta(0):
            yield replace(run, last=run.first + room // grid * grid)


def starts_of(run: Offer, zone: ZoneInfo) -> Iterator[datetime]:
    """The starts of a run that are worth weighing: its first, each whole hour, its last."""
    yield run.first
    at = _on_grid(run.first + timedelta(minutes=1), HOUR, zone)
    while at < run.last:
        yield at
        at = _on_grid(at + timedelta(minutes=1), HOUR, zone)
    if run.last > run.first:
        yield run.last


def reasons_for(chance: Chance, has: Traits, need: Need, around: Around) -> tuple[str, ...]:
    """Every reason that speaks for this time, in the order in which it is said."""
    stay = chance.span
    opening = next((span for span in around.opened if span.covers(stay)), None)
    at_it = around.heated.get(chance.place or 0, ()) if need.process else ()
    warm = any(one.starts <= stay.starts - HOUR / 2 and one.ends >= stay.starts - HOUR for one in at_it)
    ready = (
        bool(need.process)
        and opening is not None
        and opening.starts + around.warm_up.get(chance.place or 0, timedelta(0)) <= stay.starts
    )
    lit = any(span.overlaps(stay) for span in around.lit.get(has.zone, ())) if has.zone else False
    day = _day_of(stay.starts, around.zone)
    said = {
        "supervised": around.supervised is not None and any(span.covers(stay) for span in around.supervised),
        "light_source": bool(need.light_source),
        "step_free": need.step_free,
        "takes": bool(need.negative) or need.large_format,
        "prints": need.print_mm is not None,
        "usual_day": day.weekday() in around.usual_days,
        "warm": warm,
        "same_light": bool(need.process) and lit,
        "ready": ready and not warm,
        "own_light": bool(need.process) and not has.zone,
        "longer": chance.last - stay.starts >= HOUR,
        "quiet": around.others_in(stay) <= QUIET,
    }
    return tuple(code for code, true in said.items() if true)


def score(chance: Chance, first: date, zone: ZoneInfo) -> float:
    """The more the better; of two alike the sooner."""
    days = (_day_of(chance.starts, zone) - first).days
    return sum(WEIGHTS[code] for code in chance.reasons) - A_DAY_LATER * days


@dataclass(frozen=True)
class Picked:
    """One offer.  ``refusal``: the person's own rules stand in its way."""

    chance: Chance
    reasons: tuple[str, ...]
    refusal: Refusal | None = None


def choose(
    chances: Iterable[Chance],
    zone: ZoneInfo,
    refused: Callable[[Chance], Refusal | None] = lambda _chance: None,
    most: int = MOST,
) -> list[Picked]:
    """At most ``most``: the soonest of all, then the best.  What ``refused`` refuses is left out; if that is all there
    is, the best of those are shown with their refusal.
    """
    many = sorted(chances, key=_by_time)
    if not many:
        return []
    first = studio_day(many[0].starts, zone)
    many.sort(key=lambda one: -score(one, first, zone))  # stable: of equals the sooner stays in front
    answers: dict[int, Refusal | None] = {}

    def may(one: Chance) -> bool:
        if id(one) not in answers:
            answers[id(one)] = refused(one)
        return answers[id(one)] is None

    found = _spread(many, zone, most, may)
    if found:
        soonest = min(found, key=lambda one: one.starts)
        return [Picked(one, _said(one, one is soonest)) for one in found]
    return [Picked(one, (), answers[id(one)]) for one in _spread(many, zone, min(most, 3), lambda _one: True)]


def _by_time(one: Chance) -> tuple[datetime, str]:
    return one.starts, one.station


def _spread(many: Sequence[Chance], zone: ZoneInfo, most: int, may: Callable[[Chance], bool]) -> list[Chance]:
    """The soonest; then greedily, twice: at first no day a third time and the station had least often of those as good,
    then the rest.
    """
    soonest = next((one for one in sorted(many, key=_by_time) if may(one)), None)
    if soonest is None:
        return []
    found = [soonest]
    first = _day_of(min(one.starts for one in many), zone)
    scores = {id(one): score(one, first, zone) for one in many}
    for a_day in (A_DAY, most):
        taken, new = {id(one) for one in found}, found[:]
        left = [one for one in many if id(one) not in taken]
        while left and len(found) < most:
            days = [_day_of(one.starts, zone) for one in found]
            full = {day for day in days if days.count(day) >= a_day}
            left = [
                one
                for one in left
                if _day_of(one.starts, zone) not in full and not any(one.clashes(other) for other in new)
            ]
            best = _next(left, found, zone, scores, may)
            if best is None:
                break
            found.append(best)
            new = [best]
    return found


def _next(
    left: list[Chance],
    found: Sequence[Chance],
    zone: ZoneInfo,
    scores: Mapping[int, float],
    may: Callable[[Chance], bool],
) -> Chance | None:
    """The best that may be had; a station that was shown before weighs a point less each time, a day two.

    ``scores``: by the chances' ``id``.  What may not be had is taken out of ``left``.
    """
    stations = [one.station for one in found]
    days = [_day_of(one.starts, zone) for one in found]

    def order(one: Chance) -> tuple[float, datetime, str]:
        again = stations.count(one.station) + 2 * days.count(_day_of(one.starts, zone))
        return again - scores[id(one)], one.starts, one.station

    for one in sorted(left, key=order):
        if may(one):
            return one
        left.remove(one)
    return None


#: What was asked for is said before what speaks a little for a time; that somebody helps is said in any case.
ASKED_FOR, MUST_BE_SAID = 1.5, 9.0


def _said(one: Chance, is_soonest: bool) -> tuple[str, ...]:
    """Two to four reasons: the soonest is said where it is, and what is always true fills up."""
    codes = [*(["soonest"] if is_soonest else []), *one.reasons]

    def weight(code: str) -> float:
        return MUST_BE_SAID if code == "supervised" else WEIGHTS[code] or ASKED_FOR

    heaviest = sorted(range(len(codes)), key=lambda number: (-weight(codes[number]), number))[:MOST_REASONS]
    kept = [codes[number] for number in sorted(heaviest)]
    if len(kept) < 2:
        kept.append("all_asked")
    return tuple(kept)
